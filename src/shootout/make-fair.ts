import { CodedError } from '../audio/coded-error.ts';
import type { Pcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import type { Span } from '../measure/span.ts';
import { SeededRandom } from '../signal/seeded-random.ts';
import { cutLevels, cutSection } from './fair-cut.ts';
import { ditheredTo24, plainWav } from './fair-file.ts';
import { sectionGains } from './fair-gains.ts';
import { type FairPlan, fairPlan, type LaidMaster, shortestSectionSeconds } from './fair-plan.ts';

export interface FairMaster extends LaidMaster {
  /** Number of channels: 1 or 2. */
  readonly channels: number;
  /** The whole sound; asked for once. */
  open(): Promise<Pcm>;
}

export interface FairOptions {
  readonly seed: string;
  /** Highest true peak of any cut; default -1 dBTP, which leaves a player's converter room (EBU R 128). */
  readonly ceilingDbtp?: number;
  /** Default: see fairPlan. */
  readonly sampleRate?: number;
}

export interface FairCut {
  readonly wav: Uint8Array<ArrayBuffer>;
  /** What it was turned by, dB; 0 or less. */
  readonly gainDb: number;
  /** Before and after, as files of their own; after as written, dither and all. */
  readonly lufsBefore: number;
  readonly lufs: number;
  readonly truePeakDbtp: number;
}

export interface FairSet {
  readonly plan: FairPlan;
  /** cuts[master][section]; those of one section are equal in length, format, size and, to 0.1 LU, in loudness. */
  readonly cuts: readonly (readonly FairCut[])[];
}

const usualCeilingDbtp = -1;
/** How far the written cuts of one section may lie apart, LU. */
export const loudnessTolerance = 0.1;

/**
 * Makes masters of one mix fair to compare: cut to the same sections of the same timeline, equally loud section by
 * section, none turned up, none above the ceiling, and nothing in the files that tells them apart.
 *
 * Rejects with CodedError REQUEST_INVALID when no section is in all of them, when a section is too quiet to be matched or a
 * master has more than two channels; with `run.signal.reason` when aborted.
 */
export async function makeFair(
  masters: readonly FairMaster[],
  sections: readonly Span[],
  { seed, ceilingDbtp = usualCeilingDbtp, sampleRate }: FairOptions,
  run: Run = {},
): Promise<FairSet> {
  if (masters.length < 2) throw new CodedError('REQUEST_INVALID', 'A shoot-out needs at least two masters.');
  if (masters.some(({ channels }) => channels > 2))
    throw new CodedError('REQUEST_INVALID', 'Only mono and stereo sounds can be compared like this.');
  const plan = fairPlan(masters, sections, sampleRate);
  if (plan.sections.length === 0)
    throw new CodedError(
      'REQUEST_INVALID',
      `None of the sections lies for at least ${shortestSectionSeconds} seconds in what all masters have.`,
    );
  const raw: Pcm[][] = [];
  for (const [m, master] of masters.entries()) {
    run.signal?.throwIfAborted();
    const pcm = await master.open();
    raw.push(
      plan.sections.map(({ frames }, s) =>
        cutSection(pcm, master.alignment, plan.cuts[m][s], frames, plan.sampleRate),
      ),
    );
    run.progress?.((0.6 * (m + 1)) / masters.length);
  }
  const cuts: FairCut[][] = masters.map(() => []);
  for (const [s, { startSeconds }] of plan.sections.entries()) {
    run.signal?.throwIfAborted();
    const levels = raw.map((own) => cutLevels(own[s]));
    const gains = sectionGains(levels, ceilingDbtp);
    if (!gains)
      throw new CodedError(
        'REQUEST_INVALID',
        `The section at ${startSeconds.toFixed(1)} s is too quiet in one of the masters to be matched in loudness.`,
      );
    for (const [m, gainDb] of gains.gainsDb.entries()) {
      const written = ditheredTo24(raw[m][s], gainDb, new SeededRandom(`dither ${seed} ${m} ${s}`));
      const { lufs, truePeakDbtp } = cutLevels(written);
      cuts[m].push({
        wav: plainWav(written),
        gainDb,
        lufsBefore: levels[m].lufs ?? Number.NEGATIVE_INFINITY,
        lufs: lufs ?? Number.NEGATIVE_INFINITY,
        truePeakDbtp: truePeakDbtp ?? Number.NEGATIVE_INFINITY,
      });
    }
    const apart = Math.max(...cuts.map((own) => own[s].lufs)) - Math.min(...cuts.map((own) => own[s].lufs));
    if (!(apart <= loudnessTolerance)) throw new Error(`cuts of section ${s} are ${apart} LU apart`);
    run.progress?.(0.6 + (0.4 * (s + 1)) / plan.sections.length);
    await new Promise((resolve) => setTimeout(resolve, 0));
  }
  return { plan, cuts };
}
