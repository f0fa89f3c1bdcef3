import { floats, type Kernels } from '../../signal/kernels.ts';
import type { Insert } from './insert.ts';
import type { Feed, Sound } from './sound.ts';

/** Sound that a track remembers, s: what a fade, a filter and a place that settles look at, ahead and behind. */
const keptSeconds = 0.34;
/** Most frames worked on at once. */
const blockFrames = 256;

/** Frames that a track has room for. */
export function trackFrames(sampleRate: number): number {
  return 2 ** Math.ceil(Math.log2(keptSeconds * sampleRate));
}

/** Room for a track, in the kernels' memory: `frames` interleaved frames, used round and round. */
export interface TrackRoom {
  readonly pointer: number;
  readonly frames: number;
}

/**
 * A sound as an insert makes it, always a little ahead of where it is heard, so that it can be read like any other sound and
 * the insert's latency is none: what comes out for a moment of the song stands at that moment.
 */
export class Track<Settings> implements Feed {
  readonly sound: Sound;
  readonly insert: Insert<Settings>;
  readonly #kernels: Kernels;
  readonly room: TrackRoom;
  readonly #runUp: number;
  readonly #left = new Float32Array(blockFrames);
  readonly #right = new Float32Array(blockFrames);
  /** Frame of the sound from which on the insert has settled. */
  #settled = 0;
  /** Next frame that goes in, and that comes out. */
  #in = 0;
  #out = 0;

  /** @param runUp frames that the insert is given before what is heard of it */
  constructor(kernels: Kernels, sound: Sound, insert: Insert<Settings>, room: TrackRoom, runUp: number) {
    this.#kernels = kernels;
    this.sound = sound;
    this.insert = insert;
    this.room = room;
    this.#runUp = runUp;
  }

  /** Begins anew, to be heard from `at` on. From the sound's beginning on it is just as it is offline. */
  begin(at: number): void {
    const from = Math.max(0, Math.floor(at) - this.#runUp);
    this.insert.reset(from);
    this.#in = from;
    this.#out = from - this.insert.latencyFrames;
    this.#settled = from === 0 ? 0 : at;
  }

  /** Whether it stands at `at`, or will be there sooner than if it began anew. */
  covers(at: number): boolean {
    const from = Math.max(0, at);
    return from >= this.#first && from <= Math.max(this.#out, this.#settled) + this.#runUp;
  }

  /** Works on until it has come as far as `to`, or has taken in `most` frames; says how many. Stops where sound is missing. */
  advance(to: number, most: number): number {
    const end = Math.min(to, this.sound.lengthFrames);
    let taken = 0;
    while (this.#out < end && taken < most) {
      const count = Math.min(blockFrames, most - taken, end - this.#out);
      if (!this.sound.holds(this.#in, this.#in + count)) break;
      this.#work(count);
      taken += count;
    }
    return taken;
  }

  holds(from: number, to: number): boolean {
    const [first, last] = this.sound.inside(from, to);
    return first >= last || (first >= this.#first && last <= this.#out);
  }

  pieces(from: number, count: number, take: (pointer: number, frames: number, offset: number) => void): void {
    const [first, last] = this.sound.inside(from, from + count);
    const end = Math.min(last, this.#out);
    for (let at = Math.max(first, this.#first); at < end; ) {
      const place = at % this.room.frames;
      const frames = Math.min(end - at, this.room.frames - place);
      take(this.room.pointer + 8 * place, frames, at - from);
      at += frames;
    }
  }

  get #first(): number {
    return Math.max(this.#settled, this.#out - this.room.frames);
  }

  #work(count: number): void {
    const left = this.#left.subarray(0, count);
    const right = this.#right.subarray(0, count);
    left.fill(0);
    right.fill(0);
    this.sound.pieces(this.#in, count, (pointer, frames, offset) => {
      const samples = floats(this.#kernels, pointer, 2 * frames);
      for (let i = 0; i < frames; i++) {
        left[offset + i] = samples[2 * i];
        right[offset + i] = samples[2 * i + 1];
      }
    });
    this.insert.process([left, right]);
    const room = floats(this.#kernels, this.room.pointer, 2 * this.room.frames);
    for (let i = Math.max(0, -this.#out); i < count; i++) {
      const place = 2 * ((this.#out + i) % this.room.frames);
      room[place] = left[i];
      room[place + 1] = right[i];
    }
    this.#in += count;
    this.#out += count;
  }
}
