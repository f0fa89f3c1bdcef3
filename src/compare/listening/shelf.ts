import type { Kernels } from '../../signal/kernels.ts';
import { SlotStore } from './slot-store.ts';
import { chunkFrames, Sound } from './sound.ts';
import { Source, type SourceWish } from './source.ts';
import { type FrameLoop, keptRanges, mostChunks, rankedChunks, runUpSeconds } from './window.ts';

/** Where the engine is, as far as it matters to what is kept. */
export interface Place {
  readonly position: number;
  /** Where voices are heard now. */
  readonly voices: readonly number[];
  readonly loop: FrameLoop | null;
}

/** All sources that can be played, and the sounds that they share. */
export class Shelf<Settings> {
  readonly #sampleRate: number;
  readonly #slots: SlotStore;
  readonly #sounds = new Map<string, Sound>();
  readonly #sources = new Map<string, Source>();
  /** No longer wanted, but perhaps still heard. */
  readonly #leaving = new Set<Source>();
  #wishes = new Map<string, SourceWish<Settings>>();

  constructor(kernels: Kernels, sampleRate: number) {
    this.#sampleRate = sampleRate;
    this.#slots = new SlotStore(kernels, chunkFrames);
  }

  get chunkBytes(): number {
    return this.#slots.bytes;
  }

  source(key: string | null): Source | null {
    return (key !== null && this.#sources.get(key)) || null;
  }

  /** Every source with what was asked of it. */
  *all(): Generator<{ readonly source: Source; readonly wish: SourceWish<Settings> }> {
    for (const [key, source] of this.#sources) yield { source, wish: this.#wishes.get(key)! };
  }

  /** Sources that were there keep their sound. Gives those that are no longer wanted. */
  set(wishes: readonly SourceWish<Settings>[]): readonly Source[] {
    this.#wishes = new Map(wishes.map((wish) => [wish.key, wish]));
    const gone: Source[] = [];
    for (const [key, source] of this.#sources) {
      const wish = this.#wishes.get(key);
      // Moved against the song it is another voice: what is heard of it fades into the one at its new place.
      if (wish && wish.shiftFrames === source.shiftFrames && wish.sound === source.sound.key) continue;
      this.#sources.delete(key);
      this.#leaving.add(source);
      gone.push(source);
    }
    for (const wish of wishes)
      if (!this.#sources.has(wish.key))
        this.#sources.set(wish.key, new Source(wish, this.#sound(wish.sound)));
    this.#slots.reserve(new Set(wishes.map(({ sound }) => sound)).size * mostChunks(this.#sampleRate));
    return gone;
  }

  /** How long a sound's own timeline is, once that is known. */
  setLength(sound: string, frames: number): void {
    const known = this.#sounds.get(sound);
    if (known) known.lengthFrames = frames;
  }

  /** Takes a chunk, interleaved frames; one that is no longer wanted is dropped. */
  give(key: string, chunk: number, samples: Float32Array, place: Place): void {
    const sound = this.#sounds.get(key);
    if (sound && this.#ranges(sound, place).some((range) => inRange(chunk, range)))
      sound.give(chunk, samples);
  }

  /** Missing chunks, the most urgent first. */
  wanted(
    most: number,
    place: Place,
    urgent: (source: Source) => boolean,
  ): readonly { readonly key: string; readonly chunk: number }[] {
    const asking = [...this.all()].map(({ source, wish }) => {
      const at = place.position + source.shiftFrames;
      return {
        sound: source.sound,
        urgent: urgent(source),
        ranges: this.#rangesOf(source, place),
        at,
        needsFrom: wish.chain ? at - runUpSeconds * this.#sampleRate : at,
      };
    });
    return rankedChunks(asking, most);
  }

  /** Lets go of chunks that are far away, and of sounds that nobody wants or hears. */
  release(place: Place, heard: ReadonlySet<Source>): void {
    for (const source of this.#leaving) if (!heard.has(source)) this.#leaving.delete(source);
    for (const sound of this.#sounds.values()) {
      const ranges = this.#ranges(sound, place);
      sound.keepOnly((chunk) => ranges.some((range) => inRange(chunk, range)));
      if (ranges.length === 0) this.#sounds.delete(sound.key);
    }
  }

  #sound(key: string): Sound {
    const sound = this.#sounds.get(key) ?? new Sound(key, this.#slots);
    this.#sounds.set(key, sound);
    return sound;
  }

  /** Chunks of a sound that are kept, as ranges. */
  #ranges(sound: Sound, place: Place): readonly (readonly [number, number])[] {
    return [...this.#sources.values(), ...this.#leaving].flatMap((source) =>
      source.sound === sound ? this.#rangesOf(source, place) : [],
    );
  }

  #rangesOf(source: Source, { position, voices, loop }: Place): readonly (readonly [number, number])[] {
    return keptRanges(source, position, voices, loop, this.#sampleRate);
  }
}

function inRange(chunk: number, [first, last]: readonly [number, number]): boolean {
  return chunk >= first && chunk <= last;
}
