import { floats, instantiateKernels, type Kernels } from '../../signal/kernels.ts';
import type { SoloBand } from './bands.ts';
import { fadeSeconds, fadeWeights, likenessOf } from './fade.ts';
import type { Turning } from './hearing.ts';
import { Mixer, mostFrames, type Voice } from './mixer.ts';
import { Output } from './output.ts';
import { SlotStore } from './slot-store.ts';
import { chunkFrames, Source, type SourceWish } from './source.ts';
import { type FrameLoop, keptRanges, mostChunks, rankedChunks } from './window.ts';

/** How the chosen sound is heard. */
export interface EngineHearing extends Turning {
  readonly band: SoloBand | 'all';
  /** Key of the source taken away from the chosen one. */
  readonly minus: string | null;
  readonly service: boolean;
}

/** Where the engine stands. */
export interface EngineReport {
  /** Next frame of the song's timeline. */
  readonly position: number;
  /** Whether a sound goes out. */
  readonly heard: boolean;
  /** Whether it would play, had it the sound. */
  readonly waiting: boolean;
  readonly playing: boolean;
  /** Keys of sources whose sound at the position is at hand. */
  readonly ready: readonly string[];
  /** Chunks that are missing, the most urgent first. */
  readonly wanted: readonly { readonly key: string; readonly chunk: number }[];
  /** Since the beginning: A-weighted squares of both channels added, and frames for which something played. */
  readonly exposure: { readonly weighted: number; readonly frames: number };
  /** Room taken for chunks. */
  readonly chunkBytes: number;
}

interface Fade {
  readonly from: Voice | null;
  readonly to: Voice | null;
  /** Where the position stands after fading to nothing; where the fade ends when null. */
  readonly rest: number | null;
  left: number;
}

/** Frames that must be at hand, as fades, before a sound is begun or switched to. */
const fadesAhead = 4;

/**
 * Plays several sounds in step, of which one is heard. Whatever changes what is heard — another source, a jump, the loop's
 * seam, a band, a difference, start and pause — is a crossfade from one voice to the next; what comes during a fade waits for
 * its end (10 ms) and takes up at the right sample. Levels and turnings move in straight lines of the same length. All times are
 * frames of the song's timeline at the device's rate.
 */
export class DeskEngine {
  readonly #kernels: Kernels = instantiateKernels();
  readonly #sampleRate: number;
  readonly #fadeFrames: number;
  readonly #mixer: Mixer;
  readonly #output: Output;
  readonly #slots: SlotStore;
  readonly #sources = new Map<string, Source>();
  /** No longer wanted, but perhaps still heard. */
  readonly #leaving = new Set<Source>();
  #wishes = new Map<string, SourceWish>();
  readonly #frames: number;
  readonly #voiceFrames: number;
  readonly #weights: readonly [out: number, into: number];
  #length = 0;
  #chosen: string | null = null;
  #minus: string | null = null;
  #band: SoloBand | 'all' = 'all';
  #service = false;
  #playing = false;
  #loop: FrameLoop | null = null;
  #seekTo: number | null = null;
  #position = 0;
  #now: Voice | null = null;
  #fade: Fade | null = null;

  constructor(sampleRate: number) {
    this.#sampleRate = sampleRate;
    this.#fadeFrames = Math.round(fadeSeconds * sampleRate);
    this.#mixer = new Mixer(this.#kernels, sampleRate);
    this.#output = new Output(this.#kernels, sampleRate, this.#fadeFrames);
    this.#slots = new SlotStore(this.#kernels, chunkFrames);
    this.#frames = this.#kernels.allocate(8 * mostFrames);
    this.#voiceFrames = this.#kernels.allocate(8 * mostFrames);
    this.#weights = [
      this.#kernels.allocate(4 * this.#fadeFrames),
      this.#kernels.allocate(4 * this.#fadeFrames),
    ];
  }

  /** Length of a crossfade, frames. */
  get fadeFrames(): number {
    return this.#fadeFrames;
  }

  /** What can be played, and how long the song is. Sources that were there keep their sound. */
  setSources(wishes: readonly SourceWish[], lengthFrames: number): void {
    this.#length = lengthFrames;
    this.#slots.reserve(wishes.length * mostChunks(this.#sampleRate));
    this.#wishes = new Map(wishes.map((wish) => [wish.key, wish]));
    for (const [key, source] of this.#sources)
      if (!this.#wishes.has(key)) {
        this.#sources.delete(key);
        this.#leaving.add(source);
      }
    for (const wish of wishes) {
      const before = this.#sources.get(wish.key);
      // Moved against the song it is another voice: what is heard of it fades into the one at its new place.
      const source =
        before && before.shiftFrames === wish.shiftFrames ? before : new Source(wish.key, this.#slots);
      if (before && source !== before) this.#leaving.add(before);
      source.shiftFrames = wish.shiftFrames;
      if (before) source.lengthFrames = before.lengthFrames;
      this.#sources.set(wish.key, source);
    }
    this.#moveGains();
  }

  /** How long a source's own timeline is, once that is known. */
  setLength(key: string, frames: number): void {
    const source = this.#sources.get(key);
    if (source) source.lengthFrames = frames;
  }

  choose(key: string | null): void {
    this.#chosen = key;
  }

  setHearing(hearing: EngineHearing): void {
    this.#minus = hearing.minus;
    this.#band = hearing.band;
    this.#service = hearing.service;
    this.#output.turn(hearing);
    this.#moveGains();
  }

  setLoop(loop: FrameLoop | null): void {
    // A loop shorter than its seam would never be heard out.
    this.#loop = loop && { start: loop.start, end: Math.max(loop.end, loop.start + 4 * this.#fadeFrames) };
  }

  play(): void {
    this.#playing = true;
  }

  pause(): void {
    this.#playing = false;
  }

  seek(frame: number): void {
    this.#seekTo = Math.max(0, Math.min(this.#length, Math.round(frame)));
  }

  setNoise(on: boolean): void {
    this.#output.setNoise(on);
  }

  /** Takes a chunk, interleaved frames; one that is no longer wanted is dropped. */
  give(key: string, chunk: number, samples: Float32Array): void {
    const source = this.#sources.get(key);
    if (source && this.#ranges(source).some((range) => inRange(chunk, range))) source.give(chunk, samples);
  }

  /** Lets go of chunks that are far away, and says where everything stands. */
  report(mostWanted: number): EngineReport {
    this.#release();
    const at = this.#seekTo ?? this.#position;
    const source = this.#chosenSource();
    const ordered = [...this.#sources.values()].map((each) => ({
      source: each,
      urgent: each === source || each.key === this.#minus,
      ranges: this.#ranges(each),
      at: at + each.shiftFrames,
    }));
    const heard = this.#now !== null || this.#fade !== null;
    return {
      position: at,
      heard,
      waiting: this.#playing && this.#now === null && this.#fade?.to == null,
      playing: this.#playing,
      ready: ordered.flatMap(({ source: each }) =>
        this.#holds(each, 'all', at, fadesAhead * this.#fadeFrames) ? [each.key] : [],
      ),
      wanted: rankedChunks(ordered, mostWanted),
      exposure: this.#output.exposure,
      chunkBytes: this.#slots.bytes,
    };
  }

  /** Makes the next frames: as many as the two arrays are long. */
  process(left: Float32Array, right: Float32Array): void {
    for (let at = 0; at < left.length; ) {
      this.#decide();
      const count = Math.min(left.length - at, mostFrames, this.#untilEvent());
      this.#make(count);
      this.#output.send(
        this.#frames,
        count,
        this.#now !== null || this.#fade !== null,
        left.subarray(at, at + count),
        right.subarray(at, at + count),
      );
      at += count;
    }
  }

  /** What is heard next. */
  #decide(): void {
    if (this.#fade) {
      if (this.#fade.left > 0) return;
      this.#position =
        this.#fade.to?.position ?? this.#fade.rest ?? this.#fade.from?.position ?? this.#position;
      this.#now = this.#fade.to;
      this.#fade = null;
    }
    const now = this.#now;
    const jump = this.#seekTo ?? this.#loopJump();
    this.#seekTo = null;
    const at = jump ?? this.#position;
    if (at >= this.#length) this.#playing = false;
    const next = this.#playing ? this.#wishedVoice(at) : null;
    if (!now) {
      this.#position = at;
      if (next) this.#fadeTo(next, null);
    } else if (!this.#playing) this.#fadeTo(null, jump);
    else if (jump !== null) this.#fadeTo(next, jump);
    else if (next && !sameSound(now, next)) this.#fadeTo(next, null);
    else if (!this.#lasts(now)) this.#fadeTo(null, null);
  }

  /** Where the loop's end leads, when it has just been reached: by as much after the start as it was passed. */
  #loopJump(): number | null {
    if (!this.#loop || !this.#now) return null;
    const past = this.#position - this.#loop.end;
    return past >= 0 && past < 4 * this.#fadeFrames ? this.#loop.start + past : null;
  }

  #chosenSource(): Source | null {
    return (this.#chosen !== null && this.#sources.get(this.#chosen)) || null;
  }

  /** The voice that was asked for, when its sound is at hand. */
  #wishedVoice(position: number): Voice | null {
    const source = this.#chosenSource();
    const minus = this.#minus === null ? null : (this.#sources.get(this.#minus) ?? null);
    if (!source) return null;
    const voice: Voice = { source, minus, band: this.#band, position };
    return this.#lasts(voice, fadesAhead * this.#fadeFrames) ? voice : null;
  }

  #lasts(voice: Voice, frames = this.#fadeFrames + mostFrames): boolean {
    const { source, minus, band, position } = voice;
    return (
      this.#holds(source, band, position, frames) &&
      (minus === null || this.#holds(minus, band, position, frames))
    );
  }

  #holds(source: Source, band: SoloBand | 'all', position: number, frames: number): boolean {
    const reach = this.#mixer.reach(band);
    const from = position + source.shiftFrames;
    return source.holds(from - reach, from + frames + reach);
  }

  #fadeTo(to: Voice | null, rest: number | null): void {
    const from = this.#now;
    // What was not heard has its gain at once.
    if (to) for (const source of [to.source, to.minus]) if (source && !isIn(source, from)) settle(source);
    const likeness = from && to ? likenessOf(this.#preview(from), this.#preview(to)) : 0;
    const weights = fadeWeights(this.#fadeFrames, likeness);
    floats(this.#kernels, this.#weights[0], this.#fadeFrames).set(weights.out);
    floats(this.#kernels, this.#weights[1], this.#fadeFrames).set(weights.in);
    this.#fade = { from, to, rest, left: this.#fadeFrames };
  }

  /** What a voice plays during a fade, as it stands now. */
  #preview(voice: Voice): Float32Array {
    const whole = new Float32Array(2 * this.#fadeFrames);
    for (let at = 0; at < this.#fadeFrames; at += mostFrames) {
      const count = Math.min(mostFrames, this.#fadeFrames - at);
      this.#clear(this.#voiceFrames, count);
      this.#mixer.add(voice, voice.position + at, count, this.#voiceFrames);
      whole.set(floats(this.#kernels, this.#voiceFrames, 2 * count), 2 * at);
    }
    return whole;
  }

  #untilEvent(): number {
    let frames = Math.min(mostFrames, this.#output.untilEvent);
    if (this.#fade) frames = Math.min(frames, this.#fade.left);
    else if (this.#now && this.#loop && this.#position < this.#loop.end)
      frames = Math.min(frames, this.#loop.end - this.#position);
    if (this.#now && !this.#fade && this.#position < this.#length)
      frames = Math.min(frames, this.#length - this.#position);
    for (const source of this.#audible()) if (source.gainLeft > 0) frames = Math.min(frames, source.gainLeft);
    return frames;
  }

  *#audible(): Generator<Source> {
    const seen = new Set<Source>();
    for (const voice of [this.#now, this.#fade?.from, this.#fade?.to])
      for (const source of [voice?.source, voice?.minus])
        if (source && !seen.has(source)) {
          seen.add(source);
          yield source;
        }
  }

  #make(count: number): void {
    this.#clear(this.#frames, count);
    const { from, to, left } = this.#fade ?? { from: null, to: null, left: 0 };
    if (this.#fade) {
      const done = 4 * (this.#fadeFrames - left);
      this.#addFaded(from, this.#weights[0] + done, count);
      this.#addFaded(to, this.#weights[1] + done, count);
      this.#fade.left -= count;
    } else if (this.#now) this.#mixer.add(this.#now, this.#now.position, count, this.#frames);
    for (const source of this.#audible()) source.advanceGain(count);
    for (const voice of new Set(this.#fade ? [from, to] : [this.#now])) if (voice) voice.position += count;
    if (this.#fade) this.#position = to?.position ?? this.#fade.rest ?? from?.position ?? this.#position;
    else if (this.#now) this.#position = this.#now.position;
  }

  #addFaded(voice: Voice | null, weights: number, count: number): void {
    if (!voice) return;
    this.#clear(this.#voiceFrames, count);
    this.#mixer.add(voice, voice.position, count, this.#voiceFrames);
    this.#kernels.addFaded(this.#voiceFrames, weights, count, this.#frames);
  }

  #clear(pointer: number, count: number): void {
    floats(this.#kernels, pointer, 2 * count).fill(0);
  }

  #moveGains(): void {
    const audible = new Set(this.#audible());
    for (const [key, source] of this.#sources) {
      const wish = this.#wishes.get(key);
      if (wish)
        source.moveGain(
          wish.gain * (this.#service ? wish.serviceGain : 1),
          audible.has(source) ? this.#fadeFrames : 0,
        );
    }
  }

  /** Chunks of a source that are kept, as ranges. */
  #ranges(source: Source): readonly (readonly [number, number])[] {
    const voices: number[] = [];
    for (const voice of [this.#now, this.#fade?.from, this.#fade?.to]) if (voice) voices.push(voice.position);
    return keptRanges(source, this.#seekTo ?? this.#position, voices, this.#loop, this.#sampleRate);
  }

  #release(): void {
    const audible = new Set(this.#audible());
    for (const source of this.#leaving)
      if (!audible.has(source)) {
        source.keepOnly(() => false);
        this.#leaving.delete(source);
      }
    for (const source of this.#sources.values()) {
      const ranges = this.#ranges(source);
      source.keepOnly((chunk) => ranges.some((range) => inRange(chunk, range)));
    }
  }
}

function inRange(chunk: number, [first, last]: readonly [number, number]): boolean {
  return chunk >= first && chunk <= last;
}

function sameSound(a: Voice, b: Voice): boolean {
  return a.source === b.source && a.minus === b.minus && a.band === b.band;
}

function isIn(source: Source, voice: Voice | null): boolean {
  return voice !== null && (voice.source === source || voice.minus === source);
}

function settle(source: Source): void {
  source.moveGain(source.gainTo, 0);
}
