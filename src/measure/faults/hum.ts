import { powerToDb } from '../../signal/decibels.ts';

/** One steady line of mains hum. */
export interface HumLine {
  readonly hz: number;
  /** Mean square of the line, all channels added, dBFS. */
  readonly levelDbfs: number;
  /** Height above everything else within 8 Hz, dB. */
  readonly prominenceDb: number;
}

export interface HumResult {
  /** Frequency of the mains that hums; null when none does, or the sound is too short (3 to 6 s) to tell. */
  readonly mainsHz: 50 | 60 | null;
  /** Power of its lines together, dBFS; null likewise. */
  readonly levelDbfs: number | null;
  readonly lines: readonly HumLine[];
}

const mains = [50, 60] as const;
const harmonics = 8;

// Heuristics; test/conformance/faults-hum.test.ts says what they miss and what they mistake.
/** How far the line of harmonic h may lie from its nominal frequency: grids keep within 0.2 Hz in ordinary operation
 * (from memory), and harmonics stray with them. */
const offHz = (h: number) => 0.2 + 0.1 * h;
/** Surroundings of a line, Hz beyond that: free of hum, and in music full of other things. */
const besideHz = { from: 1, to: 8 };
/** Least height above the highest of the surroundings, dB: of a line that has company, and of one alone. */
const prominence = { together: 10, alone: 20 };
/** Largest difference between the 10th and 90th percentile of a line's level over the quiet passages, dB. */
const steady = 6;
/** Share of the quiet passages in which a line must stand at its frequency. */
const presence = 0.8;
/** Hum is not the music: it must be this much weaker than the song, dB. */
const belowSong = 10;
/** Quietest share of the frames, and how few may be used. */
const quiet = { share: 0.1, least: 3 };
/** Frames kept; when there are more, the louder half is forgotten. */
const mostFrames = 2048;

/** What is kept of a frame: its total power, and for each line its power (0 where no peak stands) and its surroundings' height. */
interface Frame {
  readonly total: number;
  readonly lines: Float64Array;
}

/** Looks for mains hum in the quietest passages: steady lines at exact multiples of 50 or 60 Hz with nothing beside them. */
export class HumFinder {
  readonly #binHz: number;
  #frames: Frame[] = [];
  #seen = 0;
  #sum = 0;

  constructor(binHz: number) {
    this.#binHz = binHz;
  }

  take(power: Float64Array): void {
    let total = 0;
    for (let k = Math.ceil(20 / this.#binHz); k < power.length; k++) total += power[k];
    this.#seen++;
    this.#sum += total;
    if (total <= 0) return;
    const lines = new Float64Array(mains.length * harmonics * 2);
    mains.forEach((base, m) => {
      for (let h = 1; h <= harmonics; h++) {
        const [line, beside] = this.#lineAt(power, base * h, offHz(h));
        lines[2 * (m * harmonics + h - 1)] = line;
        lines[2 * (m * harmonics + h - 1) + 1] = beside;
      }
    });
    this.#frames.push({ total, lines });
    if (this.#frames.length >= 2 * mostFrames) this.#frames = byLevel(this.#frames).slice(0, mostFrames);
  }

  finish(): HumResult {
    const wanted = Math.max(quiet.least, Math.round(quiet.share * this.#seen));
    const frames = byLevel(this.#frames).slice(0, wanted);
    const none: HumResult = { mainsHz: null, levelDbfs: null, lines: [] };
    if (frames.length < quiet.least) return none;
    const song = powerToDb(this.#sum / this.#seen);
    const found = mains
      .map((mainsHz, m) => {
        const all = Array.from({ length: harmonics }, (_, h) =>
          lineOf(frames, m * harmonics + h, mainsHz * (h + 1)),
        ).filter((line) => line !== null);
        const lines = all.length > 1 ? all : all.filter((line) => line.prominenceDb >= prominence.alone);
        const levelDbfs = powerToDb(lines.reduce((sum, line) => sum + 10 ** (line.levelDbfs / 10), 0));
        return { mainsHz, levelDbfs, lines };
      })
      .filter(({ lines, levelDbfs }) => lines.length > 0 && levelDbfs < song - belowSong)
      // 300 Hz belongs to both: whoever explains more of it.
      .sort((a, b) => b.lines.length - a.lines.length || b.levelDbfs - a.levelDbfs);
    return found[0] ?? none;
  }

  /** Power of the line at `hz`, 0 where the highest bin nearby is not at it, and the highest of what stands beside it. */
  #lineAt(power: Float64Array, hz: number, off: number): [number, number] {
    const bin = (f: number) => Math.round(f / this.#binHz);
    if (bin(hz + besideHz.to) >= power.length - 1) return [0, 0];
    let top = bin(hz - off - 0.7);
    for (let k = top; k <= bin(hz + off + 0.7); k++) if (power[k] > power[top]) top = k;
    const triple = (k: number) => power[k - 1] + power[k] + power[k + 1];
    let beside = 0;
    for (let k = bin(hz - besideHz.to); k <= bin(hz - off - besideHz.from); k++)
      beside = Math.max(beside, triple(k));
    for (let k = bin(hz + off + besideHz.from); k <= bin(hz + besideHz.to); k++)
      beside = Math.max(beside, triple(k));
    const [a, b, c] = [power[top - 1], power[top], power[top + 1]].map((x) => Math.log(Math.max(x, 1e-300)));
    const bend = a - 2 * b + c;
    const peakHz = this.#binHz * (top + (bend < 0 ? (0.5 * (a - c)) / bend : 0));
    return [Math.abs(peakHz - hz) <= off ? triple(top) : 0, beside];
  }
}

function byLevel(frames: readonly Frame[]): Frame[] {
  return [...frames].sort((a, b) => a.total - b.total);
}

function lineOf(frames: readonly Frame[], index: number, hz: number): HumLine | null {
  const levels = frames
    .map(({ lines }) => lines[2 * index])
    .filter((level) => level > 0)
    .sort((a, b) => a - b);
  if (levels.length < presence * frames.length) return null;
  const at = (share: number) => levels[Math.min(levels.length - 1, Math.floor(share * levels.length))];
  if (powerToDb(at(0.9) / at(0.1)) > steady) return null;
  const heights = frames
    .map(({ lines }) => powerToDb(Math.max(lines[2 * index], 1e-30) / Math.max(lines[2 * index + 1], 1e-30)))
    .sort((a, b) => a - b);
  const prominenceDb = heights[Math.floor(heights.length / 2)];
  if (prominenceDb < prominence.together) return null;
  return { hz, levelDbfs: powerToDb(at(0.5)), prominenceDb };
}
