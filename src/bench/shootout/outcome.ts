import { CodedError } from '../../audio/coded-error.ts';
import { type Chain, emptyChain } from '../../finish/chain.ts';
import { learnedChain } from '../../finish/learned-chain.ts';
import { type ChangeReport, changeReportOf } from '../../judge/change-report.ts';
import { type Lesson, lessonsOf } from '../../judge/lesson-words.ts';
import { shootoutSentences } from '../../judge/shootout-words.ts';
import type { Results, Round } from '../../shootout/shootout-shapes.ts';
import { SeededRandom } from '../../signal/seeded-random.ts';
import { audioFilePath } from '../audio-store.ts';
import type { Home } from '../home.ts';
import { runTask, type Workshop } from '../run-task.ts';
import type { ShootoutListeners } from '../store/shootout-listeners.ts';
import type { EntryRecord, ShootoutRecord, ShootoutStore } from '../store/shootouts.ts';
import { measureTask } from '../tasks/measure.ts';
import { type ResultsTaskOptions, shootoutResultsTask } from '../tasks/shootout-figures.ts';
import { changeFromMix } from './fair-masters.ts';

export interface Outcome {
  readonly state: ShootoutRecord['state'];
  readonly votes: number;
  readonly possible: number;
  readonly results: Results;
  readonly names: readonly { readonly id: string; readonly name: string }[];
  readonly listenerNames: readonly { readonly id: string; readonly name: string }[];
  readonly sentences: readonly string[];
  readonly letters: readonly {
    readonly listenerId: string;
    readonly letters: readonly { readonly entryId: string; readonly letter: string }[];
  }[];
}

export interface Learned {
  readonly entry: EntryRecord;
  readonly against: EntryRecord;
  readonly change: ChangeReport;
  readonly lessons: readonly Lesson[];
  /** To begin from: moves `against` toward the entry. Empty where nothing is worth a part. */
  readonly chain: Chain;
}

/** What the votes say, and what is to be learned from them. */
export class Outcomes {
  readonly #home: Home;
  readonly #workshop: Workshop;
  readonly #store: ShootoutStore;
  readonly #listeners: ShootoutListeners;
  /** The last outcome of each shoot-out, under what it was made of: pages ask again at every vote. */
  readonly #last = new Map<string, { key: string; outcome: Promise<Outcome> }>();

  constructor(
    { home, workshop }: { readonly home: Home; readonly workshop: Workshop },
    store: ShootoutStore,
    listeners: ShootoutListeners,
  ) {
    this.#home = home;
    this.#workshop = workshop;
    this.#store = store;
    this.#listeners = listeners;
  }

  /**
   * What the votes say so far. Before the reveal entries are letters, dealt out by chance and the same at every time; after it
   * they are themselves. The figures are the same both times.
   */
  async of(id: string): Promise<Outcome> {
    const shootout = await this.#store.get(id);
    const { state, title, entries, listeners } = shootout;
    const key = JSON.stringify([state, title, entries, listeners]);
    const last = this.#last.get(id);
    if (last?.key === key) return last.outcome;
    const outcome = this.#make(shootout);
    this.#last.set(id, { key, outcome });
    outcome.catch(() => this.#last.delete(id));
    return outcome;
  }

  /**
   * What the maker of an entry did otherwise than that of another. When not said: the winner (or who leads) against yours, or
   * where that is the winner itself, the next best against it. CodedError SHOOTOUT_STATE before the reveal, NOT_FOUND.
   */
  async lessons(id: string, entryId?: string, againstId?: string): Promise<Learned> {
    const shootout = await this.#store.get(id);
    if (shootout.state !== 'revealed')
      throw new CodedError('SHOOTOUT_STATE', 'What there is to learn is told after the reveal.');
    const ranked = rankedIds((await this.of(id)).results, shootout);
    const find = (wanted: string | undefined) => shootout.entries.find((each) => each.id === wanted);
    const yours = shootout.entries.find((each) => each.yours);
    const entry = find(entryId ?? ranked.find((each) => each !== (againstId ?? yours?.id)));
    const against = find(
      againstId ?? (yours && yours !== entry ? yours.id : ranked.find((each) => each !== entry?.id)),
    );
    if (!entry || !against) throw new CodedError('NOT_FOUND', 'There is no such entry.');
    if (entry === against) throw new CodedError('REQUEST_INVALID', 'An entry is held against another one.');
    const change = await changeFromMix(this.#home, this.#workshop, against, entry);
    const levels = await this.#levels(entry);
    const lessons = change.same
      ? lessonsOf(
          change.same,
          { entry: levels, against: await this.#levels(against) },
          { entry: entry.maker, against: against.yours ? 'yours' : against.maker },
        )
      : [];
    const report = changeReportOf(
      { name: against.versionName, sha256: against.sha256 },
      { name: entry.versionName, sha256: entry.sha256 },
      change,
    );
    const chain = change.same
      ? learnedChain({ ...change.same, truePeakDbtp: levels.truePeakDbtp })
      : emptyChain;
    return { entry, against, change: report, lessons, chain };
  }

  async #make(shootout: ShootoutRecord): Promise<Outcome> {
    const { id, state, kind, seed, entries } = shootout;
    const revealed = state === 'revealed';
    const dealt = new SeededRandom(`outcome ${seed}`).shuffle([...entries]);
    const shown = dealt.map((entry, i) => ({
      entry,
      id: revealed ? entry.id : String.fromCharCode(65 + i),
      name: revealed ? entry.maker : String.fromCharCode(65 + i),
    }));
    const shownId = new Map(shown.map(({ entry, id: as }) => [entry.id, as]));
    const { listeners, votes } = await this.#listeners.votes(id);
    const options: ResultsTaskOptions = {
      shootout: { kind, seed, entries: shown.map(({ id: as }) => ({ id: as })) },
      listeners: listeners.map(({ id: listenerId, rounds }) => ({
        id: listenerId,
        rounds: rounds.map((round) => renamed(round, shownId)),
      })),
      votes,
    };
    const results = await this.#workshop.pool.run<ResultsTaskOptions, Results>(shootoutResultsTask, {
      files: [],
      options,
    });
    const names = shown.map(({ id: as, name }) => ({ id: as, name }));
    const nameIn = (all: readonly { id: string; name: string }[]) => (wanted: string) =>
      all.find((each) => each.id === wanted)?.name ?? wanted;
    const listenerNames = listeners.map(({ id: listenerId, name }) => ({ id: listenerId, name }));
    return {
      state,
      votes: votes.length,
      possible: listeners.reduce((sum, { rounds }) => sum + rounds.length, 0),
      results,
      names,
      listenerNames,
      sentences: shootoutSentences(results, nameIn(names), nameIn(listenerNames)),
      letters: revealed
        ? listeners.map(({ id: listenerId, letters }) => ({
            listenerId,
            letters: entries.map((entry, i) => ({ entryId: entry.id, letter: letters[i] })),
          }))
        : [],
    };
  }

  async #levels({ sha256 }: EntryRecord) {
    const file = { path: audioFilePath(this.#home, sha256), sha256 };
    const { measurement } = await runTask(measureTask, { files: [file], options: {} }, this.#workshop);
    return {
      integratedLufs: measurement.loudness.integratedLufs,
      truePeakDbtp: measurement.peak.truePeakDbtp,
    };
  }
}

/** Entries from the best down as far as the votes say; in their own order where they say nothing. */
function rankedIds(results: Results, { entries }: ShootoutRecord): string[] {
  const own = entries.map(({ id }) => id);
  if (results.kind === 'preference') return results.all?.strengths.map(({ entryId }) => entryId) ?? own;
  if (results.kind === 'rating' && results.all)
    return [...results.all.stimuli]
      .sort((a, b) => b.mean - a.mean)
      .map(({ stimulus }) => stimulus)
      .filter((stimulus) => own.includes(stimulus));
  return own;
}

function renamed(round: Round, names: ReadonlyMap<string, string>): Round {
  const name = (id: string) => names.get(id) ?? id;
  if (round.kind === 'preference')
    return { ...round, firstId: name(round.firstId), secondId: name(round.secondId) };
  if (round.kind === 'abx') return { ...round, aId: name(round.aId), bId: name(round.bId) };
  return { ...round, order: round.order.map(name) };
}
