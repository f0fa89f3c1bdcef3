import { CodedError } from '../audio/coded-error.ts';
import type { Run } from '../audio/run.ts';
import { emptyChain, kindOf, readChain } from '../finish/chain.ts';
import { chainChanges } from '../finish/chain-words.ts';
import { takeOver } from '../finish/take-over.ts';
import { type Proposal, proposalOfChain, proposalOfReferences, proposalOfWalk } from '../judge/proposal.ts';
import { audioFilePath } from './audio-store.ts';
import type { BenchEvents } from './events.ts';
import type { Home } from './home.ts';
import type { ReferenceSets } from './reference-sets.ts';
import { runTask, type Workshop } from './run-task.ts';
import type { Version } from './shapes.ts';
import type { Outcomes } from './shootout/outcome.ts';
import { type ChainDetail, type ChainStep, type ChainSummary, Chains } from './store/chains.ts';
import type { Store } from './store/database.ts';
import { keptFigures } from './store/reports.ts';
import type { Songs } from './store/songs.ts';
import { type ChainLook, chainLookTask } from './tasks/chain-look.ts';
import type { Walks } from './walk/walks.ts';

/** What a chain could begin from. */
export type ProposalSource =
  | { readonly from: 'walk'; readonly walkId: string }
  | { readonly from: 'references'; readonly setId: string; readonly strengthPercent: number }
  | {
      readonly from: 'shootout';
      readonly shootoutId: string;
      readonly entryId?: string | undefined;
      readonly againstId?: string | undefined;
    };

/** What was not refused of a proposal. */
export interface Accepted {
  readonly title: string;
  readonly bands: readonly object[];
  readonly parts: readonly { readonly kind: string; readonly settings: object }[];
}

export interface ChainTools {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly songs: Songs;
  readonly sets: ReferenceSets;
  readonly outcomes: Outcomes;
  readonly walks: Walks;
  readonly events: BenchEvents;
}

/** Finishing chains of the songs on the bench: kept, changed, taken back, and what they could begin from. */
export class ChainRoom {
  readonly #tools: ChainTools;
  readonly #chains: Chains;

  constructor(tools: ChainTools) {
    this.#tools = tools;
    this.#chains = new Chains(tools.store);
  }

  /** Of all versions of a song; changed last first. */
  async ofSong(songId: string): Promise<ChainSummary[]> {
    await this.#tools.songs.get(songId);
    return this.#chains.ofSong(songId);
  }

  get(id: string): Promise<ChainDetail> {
    return this.#chains.get(id);
  }

  /** @param chain plain data to begin from; nothing when undefined. CodedError CHAIN_INVALID. */
  async make(version: Version, name: string | undefined, chain: unknown): Promise<ChainDetail> {
    const from = chain === undefined ? emptyChain : readChain(chain);
    const words =
      from.parts.length === 0
        ? ['began with nothing']
        : ['began from a file', ...chainChanges(emptyChain, from)];
    return this.#told(await this.#chains.add(version.id, name ?? null, from, words));
  }

  /** What a chain is now, for another version, with a history of its own. */
  async copy(id: string, version: Version, name: string | undefined): Promise<ChainDetail> {
    const from = await this.#chains.get(id);
    const words = [`began from “${from.name}” of “${from.versionName}”`];
    return this.#told(await this.#chains.add(version.id, name ?? from.name, from.chain, words));
  }

  async rename(id: string, name: string): Promise<ChainDetail> {
    await this.#chains.rename(id, name);
    return this.#told(id);
  }

  async delete(id: string): Promise<void> {
    const { songId } = await this.#chains.get(id);
    await this.#chains.delete(id);
    this.#tools.events.emit('chain', { chainId: id, songId });
  }

  async restore(id: string): Promise<ChainDetail> {
    await this.#chains.restore(id);
    return this.#told(id);
  }

  /** @param chain plain data. CodedError CHAIN_INVALID, CHAIN_CONFLICT. */
  async change(id: string, revision: number, chain: unknown): Promise<ChainDetail> {
    await this.#chains.change(id, revision, readChain(chain));
    return this.#told(id);
  }

  async undo(id: string, revision: number): Promise<ChainDetail> {
    await this.#chains.undo(id, revision);
    return this.#told(id);
  }

  async redo(id: string, revision: number): Promise<ChainDetail> {
    await this.#chains.redo(id, revision);
    return this.#told(id);
  }

  /** What it was at a step once more, as a step of its own: going back loses nothing either. */
  async goBack(id: string, revision: number, step: number): Promise<ChainDetail> {
    const { chain } = await this.#chains.stepAt(id, step);
    await this.#chains.change(id, revision, chain, [`went back to step ${step}`]);
    return this.#told(id);
  }

  async steps(id: string, before?: number): Promise<{ steps: ChainStep[]; more: boolean }> {
    await this.#chains.get(id);
    return this.#chains.steps(id, before);
  }

  async step(id: string, step: number): ReturnType<Chains['stepAt']> {
    await this.#chains.get(id);
    return this.#chains.stepAt(id, step);
  }

  /** What makes one step of a chain another, a sentence each. */
  async difference(id: string, from: number, to: number): Promise<string[]> {
    return chainChanges((await this.step(id, from)).chain, (await this.step(id, to)).chain);
  }

  async addSnapshot(id: string, revision: number, name: string): Promise<ChainDetail> {
    await this.#chains.addSnapshot(id, revision, name);
    return this.#told(id);
  }

  async renameSnapshot(id: string, snapshotId: string, name: string): Promise<ChainDetail> {
    await this.#chains.renameSnapshot(id, snapshotId, name);
    return this.#told(id);
  }

  async deleteSnapshot(id: string, snapshotId: string): Promise<ChainDetail> {
    await this.#chains.deleteSnapshot(id, snapshotId);
    return this.#told(id);
  }

  /** What a chain could begin from or take over; nothing is changed. CodedError NOT_FOUND, SHOOTOUT_STATE. */
  async propose(id: string, source: ProposalSource): Promise<Proposal> {
    const { versionId } = await this.#chains.get(id);
    switch (source.from) {
      case 'walk':
        return this.#fromWalk(source.walkId);
      case 'references':
        return this.#fromReferences(await this.#tools.songs.getVersion(versionId), source);
      case 'shootout':
        return this.#fromShootout(source);
    }
  }

  /** Takes over what was not refused of a proposal, as one step. CodedError CHAIN_INVALID, CHAIN_CONFLICT. */
  async accept(id: string, revision: number, { title, bands, parts }: Accepted): Promise<ChainDetail> {
    if (bands.length + parts.length === 0)
      throw new CodedError('REQUEST_INVALID', 'All of it was refused, so there is nothing to take over.');
    const { chain } = await this.#chains.get(id);
    const known = parts.map(({ kind, settings }) => ({ kind: kindOf(kind).id, settings }));
    const taken = takeOver(chain, { bands, parts: known });
    await this.#chains.change(id, revision, taken, [`took over ${title}`]);
    return this.#told(id);
  }

  /** What limiters and compressors of a chain take away of a version over time; kept. */
  look({ sha256 }: Version, chain: unknown, run: Run): Promise<ChainLook> {
    const file = { path: audioFilePath(this.#tools.home, sha256), sha256 };
    return runTask(
      chainLookTask,
      { files: [file], options: { chain: readChain(chain) } },
      this.#tools.workshop,
      run,
    );
  }

  /** Ends for good what was deleted before `before`. */
  purge(before: string): Promise<void> {
    return this.#chains.purge(before);
  }

  async #fromReferences(
    version: Version,
    { setId, strengthPercent }: Extract<ProposalSource, { from: 'references' }>,
  ): Promise<Proposal> {
    const { store, sets } = this.#tools;
    const set = await sets.get(setId);
    const standing = await sets.standing(version, set);
    const figures = await keptFigures(store, version);
    const bass = figures?.measurement.stereo?.bands.find(({ name }) => name === 'low');
    return proposalOfReferences(standing, {
      setName: set.name,
      strengthPercent,
      bassLossDb: bass?.foldLossDb ?? null,
    });
  }

  async #fromWalk(walkId: string): Promise<Proposal> {
    const { walk, stops, solution, bands } = await this.#tools.walks.correction(walkId, new Set());
    const nameOf = (id: string) => stops.find((stop) => stop.id === id)?.name ?? id;
    return proposalOfWalk({ title: walk.title, solution, bands, nameOf });
  }

  async #fromShootout({
    shootoutId,
    entryId,
    againstId,
  }: Extract<ProposalSource, { from: 'shootout' }>): Promise<Proposal> {
    const { entry, against, change, chain } = await this.#tools.outcomes.lessons(
      shootoutId,
      entryId,
      againstId,
    );
    const tone = change.same?.tone;
    return proposalOfChain(chain, {
      title: `what ${entry.maker} did against ${against.maker}`,
      empty: 'The two masters differ less than one hears when switching.',
      sentences: [
        `It moves ${against.versionName} toward ${entry.versionName} in tone and level, no further: a start to be heard and changed, not a copy.`,
      ],
      target: tone ? tone.centresHz.map((hertz, i) => ({ hertz, gainDb: tone.changeDb[i] })) : [],
    });
  }

  async #told(id: string): Promise<ChainDetail> {
    const detail = await this.#chains.get(id);
    this.#tools.events.emit('chain', { chainId: id, songId: detail.songId });
    return detail;
  }
}
