import { readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import type { SectionsResult } from '../../measure/sections.ts';
import { makeRounds } from '../../shootout/make-rounds.ts';
import { recogniseMaster } from '../../shootout/recognise.ts';
import { audioFilePath, keepStream } from '../audio-store.ts';
import { displayName } from '../display-name.ts';
import type { Home } from '../home.ts';
import { newId, randomLetters } from '../ids.ts';
import { runTask, type Workshop } from '../run-task.ts';
import type { Store } from '../store/database.ts';
import {
  type EntryRecord,
  type ListenerRecord,
  type NewListenerRows,
  type ShootoutRecord,
  type ShootoutSection,
  ShootoutStore,
} from '../store/shootouts.ts';
import type { Songs } from '../store/songs.ts';
import { type Measured, measureTask } from '../tasks/measure.ts';
import { defaultSections, labelled } from './default-sections.ts';
import { changeFromMix, makeMastersFair } from './fair-masters.ts';
import { type ShootoutSize, whatIsMissing } from './plan.ts';
import { newKey, newToken } from './tokens.ts';

export interface ShootoutTools {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly songs: Songs;
  /** Has a master that came in checked like any other. */
  readonly arrived: (versionId: string) => Promise<void>;
  /** Told of a shoot-out that reads differently. */
  readonly told: (shootoutId: string) => void;
  readonly now: () => Date;
  /** Where the voter page was built to; the usual place by default. */
  readonly voterPagePath?: string;
}

export interface NewShootout {
  readonly mixVersionId: string;
  readonly title?: string;
  readonly kind: ShootoutRecord['kind'];
  readonly question: ShootoutRecord['question'];
  readonly sections?: readonly Span[];
}

type Span = Pick<ShootoutSection, 'startSeconds' | 'endSeconds'>;

/** What came back from a maker. */
export interface IncomingMaster {
  readonly stream: AsyncIterable<Uint8Array>;
  readonly name: string;
  readonly maker: string;
  readonly yours: boolean;
  readonly maxBytes: number;
}

/** Shoot-outs from the first mix that goes out to the reveal, for their host. */
export class Shootouts {
  readonly store: ShootoutStore;
  readonly #tools: ShootoutTools;
  readonly #opening = new Map<string, Promise<ShootoutRecord>>();

  constructor(tools: ShootoutTools) {
    this.#tools = tools;
    this.store = new ShootoutStore(tools.store);
  }

  /** A draft. CodedError NOT_FOUND, and what reading the mix gives. */
  async make({ mixVersionId, title, kind, question, sections }: NewShootout): Promise<ShootoutRecord> {
    const mix = await this.#tools.songs.getVersion(mixVersionId);
    const song = await this.#tools.songs.get(mix.songId);
    const { measurement } = await this.#measured(mix);
    const id = await this.store.add({
      song_id: song.id,
      mix_version_id: mix.id,
      title: title ?? song.title,
      kind,
      question,
      // Chance, so that nobody can draw the orders again.
      seed: randomLetters(),
      state: 'draft',
      sections: JSON.stringify(
        sections
          ? chosenSections(sections, measurement)
          : defaultSections(measurement.sections, measurement.seconds),
      ),
      fair_notes: '[]',
      created_at: this.#tools.now().toISOString(),
    });
    this.#tools.told(id);
    return this.store.get(id);
  }

  async change(
    id: string,
    patch: {
      title?: string;
      kind?: ShootoutRecord['kind'];
      question?: ShootoutRecord['question'];
      sections?: Span[];
    },
  ): Promise<ShootoutRecord> {
    const shootout = await this.store.get(id);
    const { title, kind, question, sections } = patch;
    if (kind !== undefined || question !== undefined || sections !== undefined) mustBeDraft(shootout);
    const measurement = sections && (await this.#measured(shootout.mix)).measurement;
    await this.store.update(id, {
      title,
      kind,
      question,
      sections: measurement && JSON.stringify(chosenSections(sections, measurement)),
    });
    this.#tools.told(id);
    return this.store.get(id);
  }

  async delete(id: string): Promise<void> {
    await this.store.delete(id);
    this.#tools.told(id);
  }

  async restore(id: string): Promise<ShootoutRecord> {
    await this.store.restore(id);
    this.#tools.told(id);
    return this.store.get(id);
  }

  /** Ends for good what was deleted before `before`, and removes cuts that nobody needs. */
  async purge(before: string): Promise<void> {
    const wanted = await this.store.purge(before);
    const { shootoutsPath } = this.#tools.home;
    for (const name of await readdir(shootoutsPath))
      if (!wanted.has(name)) await rm(join(shootoutsPath, name), { recursive: true, force: true });
  }

  /** Takes in a file that came back. CodedError MASTER_REFUSED with the reason when it is no master of the mix. */
  async take(id: string, { stream, name, maker, yours, maxBytes }: IncomingMaster): Promise<EntryRecord> {
    const shootout = await this.store.get(id);
    mustBeDraft(shootout);
    const { home, songs, arrived } = this.#tools;
    const file = await keepStream(home, stream, maxBytes);
    const notes = await this.#recognised(shootout, file);
    const called = displayName(name);
    const { versionId, added } = await songs.addVersion({
      songId: shootout.songId,
      name: called,
      kind: 'master',
      file,
    });
    if (added) await arrived(versionId);
    return this.#enter(id, { versionId, maker, yours, notes });
  }

  /** Enters a version that is on the bench. CodedError as take. */
  async enter(
    id: string,
    { versionId, maker, yours }: { versionId: string; maker: string; yours: boolean },
  ): Promise<EntryRecord> {
    const shootout = await this.store.get(id);
    mustBeDraft(shootout);
    const version = await this.#tools.songs.getVersion(versionId);
    const notes = await this.#recognised(shootout, version);
    return this.#enter(id, { versionId, maker, yours, notes });
  }

  async changeEntry(
    id: string,
    entryId: string,
    patch: { maker?: string; yours?: boolean },
  ): Promise<EntryRecord> {
    await this.store.get(id);
    await this.store.updateEntry(id, entryId, patch);
    this.#tools.told(id);
    return this.#entry(id, entryId);
  }

  async removeEntry(id: string, entryId: string): Promise<void> {
    await this.store.get(id);
    await this.store.removeEntry(id, entryId);
    this.#tools.told(id);
  }

  /** Makes the masters fair and draws the rounds; asked twice at once, it is done once. CodedError SHOOTOUT_STATE, REQUEST_INVALID. */
  open(id: string, size: ShootoutSize): Promise<ShootoutRecord> {
    const running = this.#opening.get(id);
    if (running) return running;
    const opening = this.#open(id, size).finally(() => this.#opening.delete(id));
    this.#opening.set(id, opening);
    return opening;
  }

  /** A new listener with a link; the token is told once. CodedError SHOOTOUT_STATE. */
  async invite(
    id: string,
    { name, where, hours }: { name: string; where: 'here' | 'network'; hours: number },
  ): Promise<{ listener: ListenerRecord; token: string }> {
    const { token, selector, hash } = newToken();
    const listenerId = await this.#addListener(id, {
      name,
      place: where,
      token_selector: selector,
      token_hash: hash,
      token_expires_at: this.#hoursFromNow(hours),
    });
    return { listener: await this.listener(id, listenerId), token };
  }

  /** A new link for a listener; the old one is dead. CodedError SHOOTOUT_STATE for a listener far away. */
  async inviteAgain(
    id: string,
    listenerId: string,
    hours: number,
  ): Promise<{ listener: ListenerRecord; token: string }> {
    const { where } = await this.listener(id, listenerId);
    if (where === 'folder')
      throw new CodedError('SHOOTOUT_STATE', 'A listener far away has a folder, and no link.');
    const { token, selector, hash } = newToken();
    await this.store.updateListener(id, listenerId, {
      token_selector: selector,
      token_hash: hash,
      token_expires_at: this.#hoursFromNow(hours),
    });
    this.#tools.told(id);
    return { listener: await this.listener(id, listenerId), token };
  }

  /** A new listener far away. */
  async inviteFarAway(id: string, name: string): Promise<{ listener: ListenerRecord; folder: string }> {
    const folder = randomLetters();
    const listenerId = await this.#addListener(id, {
      name,
      place: 'folder',
      folder,
      folder_key: newKey(),
    });
    return { listener: await this.listener(id, listenerId), folder };
  }

  async renameListener(id: string, listenerId: string, name: string): Promise<ListenerRecord> {
    await this.store.updateListener(id, listenerId, { name });
    this.#tools.told(id);
    return this.listener(id, listenerId);
  }

  async withdraw(id: string, listenerId: string): Promise<void> {
    await this.store.get(id);
    await this.store.withdrawListener(id, listenerId);
    this.#tools.told(id);
  }

  async listener(id: string, listenerId: string): Promise<ListenerRecord> {
    const found = (await this.store.get(id)).listeners.find((each) => each.id === listenerId);
    if (!found) throw new CodedError('NOT_FOUND', 'There is no such listener.');
    return found;
  }

  /** Ends voting for good. CodedError SHOOTOUT_STATE when it is not open. */
  async reveal(id: string): Promise<ShootoutRecord> {
    await this.store.get(id);
    if (!(await this.store.reveal(id)))
      throw new CodedError('SHOOTOUT_STATE', 'Only a shoot-out that is open can be revealed.');
    this.#tools.told(id);
    return this.store.get(id);
  }

  async #open(id: string, { listeners, rounds }: ShootoutSize): Promise<ShootoutRecord> {
    const shootout = await this.store.get(id);
    mustBeDraft(shootout);
    const missing = whatIsMissing(shootout);
    if (missing !== null) throw new CodedError('SHOOTOUT_STATE', missing);
    const { home, workshop } = this.#tools;
    const { measurement } = await this.#measured(shootout.mix);
    const fair = await makeMastersFair(home, workshop, shootout, measurement.seconds);
    const opened = await this.store.open(
      id,
      {
        sections: JSON.stringify(fair.sections),
        most_listeners: listeners,
        most_rounds: rounds ?? null,
        fair_notes: JSON.stringify(fair.notes),
      },
      fair.cuts,
    );
    if (!opened) throw new CodedError('SHOOTOUT_STATE', 'The shoot-out has been opened already.');
    this.#tools.told(id);
    return this.store.get(id);
  }

  async #addListener(
    id: string,
    values: Omit<NewListenerRows['listener'], 'id' | 'shootout_id'>,
  ): Promise<string> {
    const shootout = await this.store.get(id);
    const listenerId = newId();
    const cuts = new Map(
      (await this.store.cuts(id)).map(({ section, stimulus, name }) => [`${section} ${stimulus}`, name]),
    );
    await this.store.addListener(id, {
      listener: { ...values, id: listenerId, shootout_id: id },
      drawn: (slot) => {
        const { letters, rounds } = makeRounds(shootout, {
          listeners: shootout.mostListeners ?? 0,
          rounds: shootout.mostRounds ?? undefined,
        })[slot];
        const named = rounds.map((round) => ({ handle: randomLetters(), round }));
        return {
          letters,
          rounds: named.map(({ handle, round }) => ({ handle, round: JSON.stringify(round) })),
          sounds: named.flatMap(({ handle, round }) =>
            placesOf(round, shootout).map(([place, stimulus]) => {
              const cut = cuts.get(`${round.section} ${stimulus}`);
              if (cut === undefined) throw new Error(`no cut of ${stimulus} in section ${round.section}`);
              return { handle: randomLetters(), round: handle, place, cut };
            }),
          ),
        };
      },
    });
    this.#tools.told(id);
    return listenerId;
  }

  async #enter(id: string, entry: Parameters<ShootoutStore['addEntry']>[1]): Promise<EntryRecord> {
    const entryId = await this.store.addEntry(id, entry);
    this.#tools.told(id);
    return this.#entry(id, entryId);
  }

  async #entry(id: string, entryId: string): Promise<EntryRecord> {
    const found = (await this.store.get(id)).entries.find((each) => each.id === entryId);
    if (!found) throw new CodedError('NOT_FOUND', 'There is no such entry.');
    return found;
  }

  /** What is odd about a master, in sentences. CodedError MASTER_REFUSED. */
  async #recognised({ mix }: ShootoutRecord, file: { readonly sha256: string }): Promise<readonly string[]> {
    if (file.sha256 === mix.sha256)
      throw new CodedError('MASTER_REFUSED', 'This is the very mix that was sent out, byte for byte.');
    const { home, workshop } = this.#tools;
    const { measurement } = await this.#measured(mix);
    const recognition = recogniseMaster(await changeFromMix(home, workshop, mix, file), measurement.seconds);
    if (!recognition.accepted) throw new CodedError('MASTER_REFUSED', recognition.reason);
    return recognition.notes;
  }

  #measured({ sha256 }: { readonly sha256: string }): Promise<Measured> {
    const file = { path: audioFilePath(this.#tools.home, sha256), sha256 };
    return runTask(measureTask, { files: [file], options: {} }, this.#tools.workshop);
  }

  #hoursFromNow(hours: number): string {
    return new Date(this.#tools.now().getTime() + hours * 3600_000).toISOString();
  }
}

/** What is heard at each place of a round; -1 is the open reference. */
function placesOf(
  round: ReturnType<typeof makeRounds>[number]['rounds'][number],
  { question }: Pick<ShootoutRecord, 'question'>,
): [place: number, stimulus: string][] {
  if (round.kind === 'preference')
    return [
      [0, round.firstId],
      [1, round.secondId],
    ];
  if (round.kind === 'abx')
    return [
      [0, round.aId],
      [1, round.bId],
      [2, round.x === 'a' ? round.aId : round.bId],
    ];
  const sliders = round.order.map((stimulus, i): [number, string] => [i, stimulus]);
  return question === 'damage' ? [[-1, 'reference'], ...sliders] : sliders;
}

function chosenSections(
  chosen: readonly Span[],
  { seconds, sections }: { readonly seconds: number; readonly sections: SectionsResult },
): ShootoutSection[] {
  for (const { startSeconds, endSeconds } of chosen)
    if (!(startSeconds >= 0 && endSeconds <= seconds + 1e-3 && endSeconds - startSeconds >= 3))
      throw new CodedError(
        'REQUEST_INVALID',
        'A section lies within the mix and is at least three seconds long.',
      );
  return labelled(chosen, sections);
}

function mustBeDraft({ state }: Pick<ShootoutRecord, 'state'>): void {
  if (state !== 'draft')
    throw new CodedError(
      'SHOOTOUT_STATE',
      'The shoot-out has been opened; that can not be changed any more.',
    );
}
