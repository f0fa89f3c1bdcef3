import type { Pcm } from '../audio/pcm.ts';

/** One exponential sweep within the signal. */
export interface SweepPart {
  readonly startSeconds: number;
  readonly seconds: number;
  /** Peak, dBFS. */
  readonly levelDbfs: number;
}

/** The whole measuring signal as data: both ends, the player and the analysis, work from it. */
export interface SweepPlan {
  readonly fromHz: number;
  readonly toHz: number;
  /** First a quiet one, half as long, that leaves time to turn down; then the one that counts. */
  readonly quiet: SweepPart;
  readonly main: SweepPart;
  /** Two steady tones beneath everything, by which a recorder's automatic gain is followed. */
  readonly pilots: {
    readonly hertz: readonly number[];
    readonly levelDbfs: number;
    readonly startSeconds: number;
    readonly endSeconds: number;
  };
  readonly seconds: number;
}

export interface SweepChoice {
  /** Length of the main sweep, s; longer hears more through noise. 2 to 30, usually 10. */
  readonly seconds?: number;
  /** Highest frequency; the player must reproduce it. */
  readonly toHz?: number;
  /** Peak of the main sweep; -12 dBFS as a rule, since tweeters get it as a steady tone. At most -6. */
  readonly levelDbfs?: number;
}

/** How much quieter the first sweep is, and the pilots lie under the main sweep, dB (choices of this project). */
const quietLessDb = 14;
const pilotsLessDb = 22;
/** Where loudspeakers of all sizes work, and so that no harmonic of the sweep is near both at a time (choice). */
const pilotHz = [863, 4730] as const;
const fadeSeconds = 0.02;
/** Sample rate over the highest frequency, at least. */
const leastRatio = 2.1;

export function planSweep({ seconds = 10, toHz = 20000, levelDbfs = -12 }: SweepChoice = {}): SweepPlan {
  if (!(seconds >= 2 && seconds <= 30)) throw new RangeError(`a sweep lasts 2 to 30 s, not ${seconds}`);
  if (!(toHz >= 8000 && toHz <= 22000)) throw new RangeError(`a sweep ends at 8 to 22 kHz, not ${toHz} Hz`);
  if (!(levelDbfs <= -6)) throw new RangeError(`a sweep of ${levelDbfs} dBFS is too loud: at most -6`);
  const quiet = { startSeconds: 1, seconds: seconds / 2, levelDbfs: levelDbfs - quietLessDb };
  const main = { startSeconds: quiet.startSeconds + quiet.seconds + 0.6, seconds, levelDbfs };
  const end = main.startSeconds + main.seconds + 1.8;
  return {
    fromHz: 20,
    toHz,
    quiet,
    main,
    pilots: {
      hertz: pilotHz,
      levelDbfs: levelDbfs - pilotsLessDb,
      startSeconds: 0.3,
      endSeconds: end - 0.1,
    },
    seconds: end,
  };
}

/** L of Farina's sweep x(t) = sin(2 pi f1 L (e^(t/L) - 1)), L = T / ln(f2/f1): AES 108th Convention 2000, preprint 5093. */
export function sweepRate({ fromHz, toHz }: SweepPlan, { seconds }: SweepPart): number {
  return seconds / Math.log(toHz / fromHz);
}

/** How much earlier than the linear response the distortion of order `n` arrives after deconvolution, s: L ln n. */
export function harmonicLeadSeconds(plan: SweepPlan, part: SweepPart, n: number): number {
  return sweepRate(plan, part) * Math.log(n);
}

/** When a sweep passes a frequency, s after its start. */
export function secondsAt(plan: SweepPlan, part: SweepPart, hertz: number): number {
  return sweepRate(plan, part) * Math.log(hertz / plan.fromHz);
}

/** The highest frequency of a sweep that a sample rate holds, Hz: a recorder of a low rate hears less of it. */
export function highestHz({ toHz }: SweepPlan, sampleRate: number): number {
  return Math.min(toHz, sampleRate / leastRatio);
}

/** One sweep with peak 1, faded in and out over 20 ms; it ends at the highest frequency that the rate holds. */
export function sweepSamples(plan: SweepPlan, part: SweepPart, sampleRate: number): Float64Array {
  const rate = sweepRate(plan, part);
  const samples = new Float64Array(Math.round(part.seconds * sampleRate));
  const end = Math.min(part.seconds, secondsAt(plan, part, highestHz(plan, sampleRate)));
  for (let n = 0; n < end * sampleRate; n++) {
    const t = n / sampleRate;
    const edge = Math.min(1, t / fadeSeconds, (end - t) / fadeSeconds);
    const fade = edge < 1 ? 0.5 - 0.5 * Math.cos(Math.PI * edge) : 1;
    samples[n] = fade * Math.sin(2 * Math.PI * plan.fromHz * rate * Math.expm1(t / rate));
  }
  return samples;
}

/**
 * The measuring signal as sound, mono. Play it quietly first: it starts low, yet the main sweep is a steady tone that ears
 * and tweeters must bear. In a car only while parked.
 */
export function makeSweep(plan: SweepPlan, sampleRate: number): Pcm {
  if (!(sampleRate >= leastRatio * plan.toHz))
    throw new RangeError(`a sweep to ${plan.toHz} Hz needs a higher rate`);
  const samples = new Float32Array(Math.round(plan.seconds * sampleRate));
  for (const part of [plan.quiet, plan.main]) {
    const gain = 10 ** (part.levelDbfs / 20);
    const start = Math.round(part.startSeconds * sampleRate);
    sweepSamples(plan, part, sampleRate).forEach((x, n) => {
      samples[start + n] += gain * x;
    });
  }
  const { hertz, levelDbfs, startSeconds, endSeconds } = plan.pilots;
  const gain = 10 ** (levelDbfs / 20);
  for (let n = Math.round(startSeconds * sampleRate); n < endSeconds * sampleRate; n++) {
    const t = n / sampleRate;
    const edge = Math.min(1, (t - startSeconds) / fadeSeconds, (endSeconds - t) / fadeSeconds);
    for (const f of hertz) samples[n] += gain * Math.max(0, edge) * Math.sin(2 * Math.PI * f * t);
  }
  return { sampleRate, channels: [samples] };
}
