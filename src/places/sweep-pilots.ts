import { type SweepPlan, secondsAt } from './sweep.ts';

/** How often a pilot is read, s, and in how long a window. */
const hopSeconds = 0.01;
const hopsInWindow = 8;
const windowSeconds = hopsInWindow * hopSeconds;
/** Where and at how many of the hops noise is read, Hz beside the pilot. */
const besideHz = 60;
const besideEvery = 10;
/** A reading is left out while the sweep, or a harmonic of it, is this near a pilot, Hz. */
const nearHz = 45;
const harmonicsNear = 3;
/** Share of the gain's move over a gap that counts as its error (heuristic), and the error when it is not followed, dB. */
const gapErrorShare = 0.35;
const notFollowedDb = 0.3;
/** Above this over the noise beside it a pilot is followed, dB. */
const leastOverNoiseDb = 12;

export interface FollowedGain {
  /** Gain at each hop from the signal's start, as an amplitude ratio around 1. */
  readonly gains: Float64Array;
  readonly hopSeconds: number;
  /** Expected error of the gain at each hop, dB: more where it moved while no pilot could be read. */
  readonly errorsDb: Float64Array;
  /** How far the gain moved over the main sweep, dB; 0 with a fixed gain. */
  readonly movedDb: number;
  /** Whether a pilot rose above the noise; if not, the gain is taken as fixed. */
  readonly followed: boolean;
}

interface PilotReading {
  readonly re: Float64Array;
  readonly im: Float64Array;
  readonly good: Uint8Array;
  readonly overNoiseDb: number;
}

/**
 * Follows the gain of a recorder by the pilots and takes the pilots out of the recording.
 *
 * @param x recording; changed: gain made even, pilots subtracted, from the start of the signal to its end
 * @param start frame at which the signal begins, may be negative
 * @param clips times from there at which the recording is cut off, s: a pilot beneath is not itself then
 */
export function evenGain(
  x: Float64Array,
  start: number,
  plan: SweepPlan,
  sampleRate: number,
  clips: readonly number[] = [],
): FollowedGain {
  const hop = Math.round(hopSeconds * sampleRate);
  const count = Math.floor((plan.seconds * sampleRate) / hop) + 1;
  const readings = plan.pilots.hertz.map((hertz) => readPilot(x, start, plan, sampleRate, hertz, hop, count));
  const used = readings.filter(({ overNoiseDb }) => overNoiseDb >= leastOverNoiseDb);
  const cutOff = new Uint8Array(count);
  for (const t of clips) {
    const [from, to] = [t - windowSeconds / 2, t + windowSeconds / 2].map((s) => Math.round(s / hopSeconds));
    cutOff.fill(1, Math.max(0, from), Math.max(0, to + 1));
  }
  for (const { good } of readings)
    good.forEach((one, i) => {
      if (one && cutOff[i]) good[i] = 0;
    });
  const logs = new Float64Array(count);
  const errorsDb = new Float64Array(count).fill(notFollowedDb);
  if (used.length > 0) {
    const weight = used.map(({ overNoiseDb }) => 10 ** (0.1 * Math.min(overNoiseDb, 40)));
    const tracks = commonTracks(used);
    const known = new Uint8Array(count);
    for (let i = 0; i < count; i++) {
      let [sum, all] = [0, 0];
      used.forEach((reading, p) => {
        if (!reading.good[i]) return;
        sum += weight[p] * tracks[p][i];
        all += weight[p];
      });
      if (all > 0) {
        logs[i] = sum / all;
        known[i] = 1;
      }
    }
    fillGaps(logs, known);
    // Amplitude error of a tone in noise: 8.7 dB * noise / (tone * sqrt 2).
    const best = Math.max(...used.map(({ overNoiseDb }) => overNoiseDb));
    errorsDb.fill(0.1 + 6.1 * 10 ** (-best / 20));
    addGapErrors(logs, known, errorsDb);
  }
  const gains = logs.map(Math.exp);
  subtractPilots(x, start, plan, sampleRate, readings, hop);
  for (let n = Math.max(0, start); n < Math.min(x.length, start + (count - 1) * hop); n++)
    x[n] /= at(gains, (n - start) / hop);
  const [from, to] = [plan.main.startSeconds, plan.main.startSeconds + plan.main.seconds].map((s) =>
    Math.floor(s / hopSeconds),
  );
  const during = gains.subarray(from, to);
  const [low, high] = [Math.min(...during), Math.max(...during)];
  return { gains, hopSeconds, errorsDb, movedDb: 20 * Math.log10(high / low), followed: used.length > 0 };
}

/** Where nothing was read the gain may have gone another way than straight. */
function addGapErrors(logs: Float64Array, known: Uint8Array, errorsDb: Float64Array): void {
  let before = -1;
  for (let i = 0; i <= known.length; i++) {
    if (i < known.length && !known[i]) continue;
    const [from, to] = [Math.max(0, before), Math.min(known.length - 1, i)];
    const moved =
      Math.abs(logs[to] - logs[from]) * (20 / Math.LN10) + (before < 0 || i === known.length ? 1 : 0);
    for (let k = before + 1; k < i; k++) errorsDb[k] += gapErrorShare * moved;
    before = i;
  }
}

function at(values: Float64Array, position: number): number {
  const i = Math.min(values.length - 2, Math.max(0, Math.floor(position)));
  return values[i] + (position - i) * (values[i + 1] - values[i]);
}

/**
 * Amplitude and phase of a tone at each hop where neither sweep nor harmonics are near, against a tone that began with the
 * signal. A raised-cosine window is three straight ones at frequencies one step of the window apart, so each hop is summed
 * once for each of the three and windows are put together of whole hops.
 */
function readPilot(
  x: Float64Array,
  start: number,
  plan: SweepPlan,
  sampleRate: number,
  hertz: number,
  hop: number,
  count: number,
): PilotReading {
  const { startSeconds, endSeconds } = plan.pilots;
  const isGood = (i: number, f: number) => {
    const t = i * hopSeconds;
    const inside = t > startSeconds + windowSeconds && t < endSeconds - windowSeconds;
    return inside && !sweepNear(plan, t, f);
  };
  const [re, im] = [new Float64Array(count), new Float64Array(count)];
  const good = new Uint8Array(count);
  for (let i = 0; i < count; i++) good[i] = isGood(i, hertz) ? 1 : 0;
  const tone = new HopSums(x, start, hertz, sampleRate, hop, count);
  const other = new HopSums(x, start, hertz + besideHz, sampleRate, hop, count);
  const beside: number[] = [];
  const sizes: number[] = [];
  for (let i = 0; i < count; i++) {
    if (!good[i]) continue;
    [re[i], im[i]] = tone.read(i);
    sizes.push(Math.hypot(re[i], im[i]));
    if (i % besideEvery === 0 && isGood(i, hertz + besideHz)) beside.push(Math.hypot(...other.read(i)));
  }
  const middle = (values: number[]) => values.sort((a, b) => a - b)[values.length >> 1] ?? 0;
  const noise = middle(beside);
  return { re, im, good, overNoiseDb: noise > 0 ? 20 * Math.log10(middle(sizes) / noise) : 100 };
}

/** Sums of a recording against a tone over each hop, made when they are first asked for. */
class HopSums {
  readonly #x: Float64Array;
  readonly #start: number;
  readonly #hop: number;
  readonly #steps: readonly number[];
  readonly #sums: readonly (readonly [Float64Array, Float64Array])[];
  readonly #made: Uint8Array;

  constructor(x: Float64Array, start: number, hertz: number, sampleRate: number, hop: number, count: number) {
    this.#x = x;
    this.#start = start;
    this.#hop = hop;
    const w = (2 * Math.PI * hertz) / sampleRate;
    const apart = (2 * Math.PI) / (hopsInWindow * hop);
    this.#steps = [w, w - apart, w + apart];
    const hops = count + hopsInWindow;
    this.#sums = this.#steps.map(() => [new Float64Array(hops), new Float64Array(hops)] as const);
    this.#made = new Uint8Array(hops);
  }

  /** Amplitude of the tone around hop `i`, as (cos, sin) parts. */
  read(i: number): readonly [number, number] {
    const { length } = this.#steps;
    const first = (i - hopsInWindow / 2) * this.#hop;
    let [re, im] = [0, 0];
    for (let k = 0; k < length; k++) {
      let [a, b] = [0, 0];
      for (let h = 0; h < hopsInWindow; h++) {
        const at = i + h;
        if (!this.#made[at]) this.#make(at);
        a += this.#sums[k][0][at];
        b += this.#sums[k][1][at];
      }
      if (k === 0) {
        re += 0.5 * a;
        im += 0.5 * b;
        continue;
      }
      // The cosine of the window begins at its first sample, not at the tone's.
      const sign = k === 1 ? 1 : -1;
      const angle = ((2 * Math.PI) / (hopsInWindow * this.#hop)) * (first - 0.5) * sign;
      const [c, s] = [Math.cos(angle), Math.sin(angle)];
      re -= 0.25 * (a * c - b * s);
      im -= 0.25 * (a * s + b * c);
    }
    const gain = 4 / (hopsInWindow * this.#hop);
    return [gain * re, gain * im];
  }

  /** Hop `at` stands half a window before its number. */
  #make(at: number): void {
    this.#made[at] = 1;
    const first = (at - hopsInWindow / 2) * this.#hop;
    const [from, to] = [
      Math.max(0, -this.#start - first),
      Math.min(this.#hop, this.#x.length - this.#start - first),
    ];
    this.#steps.forEach((w, k) => {
      let [re, im] = [0, 0];
      let [c, s] = [Math.cos(w * (first + from)), Math.sin(w * (first + from))];
      const [dc, ds] = [Math.cos(w), Math.sin(w)];
      for (let j = from; j < to; j++) {
        const v = this.#x[this.#start + first + j];
        re += v * c;
        im += v * s;
        const next = c * dc - s * ds;
        s = c * ds + s * dc;
        c = next;
      }
      this.#sums[k][0][at] = re;
      this.#sums[k][1][at] = im;
    });
  }
}

function sweepNear(plan: SweepPlan, t: number, hertz: number): boolean {
  return [plan.quiet, plan.main].some((part) => {
    const within = t - part.startSeconds;
    for (let n = 1; n <= harmonicsNear; n++) {
      const low = secondsAt(plan, part, Math.max(plan.fromHz, (hertz - nearHz) / n));
      const high = secondsAt(plan, part, (hertz + nearHz) / n);
      // The window, and what rings on in the room.
      if (within > low - windowSeconds / 2 - 0.02 && within < high + windowSeconds / 2 + 0.15) return true;
    }
    return false;
  });
}

/**
 * Logarithm of each pilot's size, all on one footing: what a pilot lies above the first is its place in the response, and is
 * taken from the moments when both are read, since their own moments differ. The whole is around its middle.
 */
function commonTracks(readings: readonly PilotReading[]): Float64Array[] {
  const logs = readings.map(({ re, im }) =>
    re.map((a, i) => Math.log(Math.max(1e-12, Math.hypot(a, im[i])))),
  );
  const middleOf = (values: Float64Array, counts: (i: number) => boolean) => {
    const sorted = Array.from(values)
      .filter((_, i) => counts(i))
      .sort((a, b) => a - b);
    return sorted[sorted.length >> 1] ?? 0;
  };
  const [first] = logs;
  const middle = middleOf(first, (i) => readings[0].good[i] === 1);
  return logs.map((track, p) => {
    const apart = middleOf(
      track.map((value, i) => value - first[i]),
      (i) => readings[p].good[i] === 1 && readings[0].good[i] === 1,
    );
    return track.map((value) => value - apart - middle);
  });
}

/** Straight lines over what is not known; the ends stay level. */
function fillGaps(values: Float64Array, known: Uint8Array): void {
  let before = -1;
  for (let i = 0; i < values.length; i++) {
    if (!known[i]) continue;
    for (let k = before + 1; k < i; k++)
      values[k] =
        before < 0
          ? values[i]
          : values[before] + ((values[i] - values[before]) * (k - before)) / (i - before);
    before = i;
  }
  if (before >= 0) values.fill(values[before], before + 1);
}

function subtractPilots(
  x: Float64Array,
  start: number,
  plan: SweepPlan,
  sampleRate: number,
  readings: readonly PilotReading[],
  hop: number,
): void {
  readings.forEach(({ re, im, good, overNoiseDb }, p) => {
    if (overNoiseDb < 3) return;
    fillGaps(re, good);
    fillGaps(im, good);
    const w = (2 * Math.PI * plan.pilots.hertz[p]) / sampleRate;
    const from = Math.round((plan.pilots.startSeconds + 0.05) * sampleRate);
    const to = Math.round((plan.pilots.endSeconds - 0.05) * sampleRate);
    for (let k = from; k < to; k++) {
      const n = start + k;
      if (n < 0 || n >= x.length) continue;
      x[n] -= at(re, k / hop) * Math.cos(w * k) + at(im, k / hop) * Math.sin(w * k);
    }
  });
}
