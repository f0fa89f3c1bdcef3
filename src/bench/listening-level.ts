import { type Calibration, calibrationOf, type Heard, splOf } from '../hearing/calibration.ts';
import { type Exposure, exposureOf, type Listener } from '../hearing/exposure.ts';
import { atEarSentence, levelAdvice } from '../judge/level-words.ts';
import type { Store } from './store/database.ts';
import {
  keepLevelSettings,
  keepStretch,
  type LevelSettings,
  levelSettings,
  stretchesSince,
} from './store/level.ts';

/** What is known of how loud the listener hears, and for how long. */
export interface ListeningNow extends LevelSettings, Pick<Exposure, 'week' | 'today' | 'sinceBreakSeconds'> {
  readonly advice: string | null;
}

export interface ListeningPatch {
  /** null forgets it. */
  readonly calibration?: Calibration | null;
  /** Makes the calibration from this instead. */
  readonly heard?: Heard;
  readonly listener?: Listener;
  readonly cautionRead?: boolean;
}

/** Kept a day longer than a week, so that a change of clocks loses nothing. */
const keptMilliseconds = 8 * 24 * 3600 * 1000;

/** The level at the ear and the listening clock. */
export class ListeningLevel {
  readonly #store: Store;
  readonly #now: () => Date;

  constructor(store: Store, now: () => Date) {
    this.#store = store;
    this.#now = now;
  }

  async get(): Promise<ListeningNow> {
    const settings = await levelSettings(this.#store);
    const { calibration, listener } = settings;
    const now = this.#now();
    const dayStart = new Date(now);
    dayStart.setHours(0, 0, 0, 0);
    const kept = await stretchesSince(this.#store, this.#keptFrom(now));
    const stretches = kept.map(({ endedAt, seconds, levelDbfsA, splDb }) => ({
      endedMs: Date.parse(endedAt),
      seconds,
      // What was heard before there was a calibration is taken to have been heard at the level found out since.
      splDb: splDb ?? (calibration && splOf(levelDbfsA, calibration)),
    }));
    const exposure = exposureOf(stretches, {
      nowMs: now.getTime(),
      dayStartMs: dayStart.getTime(),
      listener,
    });
    const { week, today, sinceBreakSeconds } = exposure;
    const advice = levelAdvice(exposure, calibration?.uncertaintyDb ?? null);
    return { ...settings, week, today, sinceBreakSeconds, advice };
  }

  /** How loud something called `name`, sent out at that loudness (null: it has none), is where the listener sits. */
  async atEar(
    name: string,
    lufs: number | null,
  ): Promise<{ readonly splDb: number | null; readonly sentence: string }> {
    const { calibration } = await levelSettings(this.#store);
    const splDb = calibration && lufs !== null ? lufs + calibration.splAtZeroLufsDb : null;
    return { splDb, sentence: atEarSentence(name, splDb, calibration) };
  }

  async set({ heard, calibration, listener, cautionRead }: ListeningPatch): Promise<ListeningNow> {
    const made = heard ? calibrationOf(heard) : calibration;
    await keepLevelSettings(this.#store, {
      ...(made === undefined ? {} : { calibration: made && { ...made, madeAt: this.#now().toISOString() } }),
      ...(listener === undefined ? {} : { listener }),
      ...(cautionRead === undefined ? {} : { cautionRead }),
    });
    return this.get();
  }

  /** A stretch that has just ended; silence (null) is no listening and counts towards a break. */
  async heard(seconds: number, levelDbfsA: number | null): Promise<ListeningNow> {
    if (levelDbfsA !== null && seconds > 0) {
      const { calibration } = await levelSettings(this.#store);
      const now = this.#now();
      const splDb = calibration && splOf(levelDbfsA, calibration);
      await keepStretch(
        this.#store,
        { endedAt: now.toISOString(), seconds, levelDbfsA, splDb },
        this.#keptFrom(now),
      );
    }
    return this.get();
  }

  #keptFrom(now: Date): string {
    return new Date(now.getTime() - keptMilliseconds).toISOString();
  }
}
