import { floats, type Kernels } from '../../signal/kernels.ts';
import { bandTaps, longestHalf, type SoloBand, soloBands } from './bands.ts';
import type { VoicePart } from './source.ts';

/** What is heard at one time: a sound, what is taken away from it, the band it is heard in, and where. */
export interface Voice {
  readonly main: VoicePart;
  readonly minus: VoicePart | null;
  readonly band: SoloBand | 'all';
  /** Next frame of the song's timeline. */
  position: number;
}

/** Whether two voices sound alike wherever they are. */
export function sameVoice(a: Voice, b: Voice): boolean {
  return samePart(a.main, b.main) && samePart(a.minus, b.minus) && a.band === b.band;
}

function samePart(a: VoicePart | null, b: VoicePart | null): boolean {
  return a?.feed === b?.feed && a?.gain === b?.gain;
}

/** Most frames made at a time. */
export const mostFrames = 256;

interface Filter {
  readonly taps: number;
  readonly half: number;
}

/** Makes the frames of voices in the kernels' memory. */
export class Mixer {
  readonly #kernels: Kernels;
  readonly #filters = new Map<SoloBand | 'all', Filter>();
  /** Frames as they lie in the source, with what the filter sees around them; and filtered. */
  readonly #raw: number;
  readonly #filtered: number;

  constructor(kernels: Kernels, sampleRate: number) {
    this.#kernels = kernels;
    for (const band of Object.keys(soloBands) as SoloBand[]) {
      const taps = bandTaps(band, sampleRate);
      const pointer = kernels.allocate(4 * taps.length);
      floats(kernels, pointer, taps.length).set(taps);
      this.#filters.set(band, { taps: pointer, half: taps.length - 1 });
    }
    this.#raw = kernels.allocate(8 * (mostFrames + 2 * longestHalf + 8));
    this.#filtered = kernels.allocate(8 * (mostFrames + 4));
  }

  /** How many frames around a position a band's filter looks at, either way. */
  reach(band: SoloBand | 'all'): number {
    return this.#filters.get(band)?.half ?? 0;
  }

  /** Adds `count` frames of a voice, from its position on, to the frames at `out`. Moves nothing. */
  add(voice: Voice, position: number, count: number, out: number): void {
    this.#addPart(voice.main, voice.band, 1, position, count, out);
    if (voice.minus) this.#addPart(voice.minus, voice.band, -1, position, count, out);
  }

  #addPart(
    { source, feed, gain: { value, step } }: VoicePart,
    band: SoloBand | 'all',
    sign: number,
    position: number,
    count: number,
    out: number,
  ): void {
    const from = position + source.shiftFrames;
    const filter = this.#filters.get(band);
    if (!filter) {
      feed.pieces(from, count, (pointer, frames, offset) => {
        const start = sign * (value + step * offset);
        this.#kernels.addGained(pointer, frames, start, sign * step, out + 8 * offset);
      });
      return;
    }
    const { taps, half } = filter;
    floats(this.#kernels, this.#raw, 2 * (count + 2 * half + 8)).fill(0);
    feed.pieces(from - half, count + 2 * half, (pointer, frames, offset) =>
      this.#kernels.addGained(pointer, frames, 1, 0, this.#raw + 8 * offset),
    );
    this.#kernels.filterMirrored(this.#raw, taps, half, count, this.#filtered);
    this.#kernels.addGained(this.#filtered, count, sign * value, sign * step, out);
  }
}
