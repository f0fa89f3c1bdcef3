import { floats, type Kernels } from '../../signal/kernels.ts';
import { fadeWeights, likenessOf } from './fade.ts';
import { type Mixer, mostFrames, type Voice } from './mixer.ts';
import type { MovingGain } from './moving-gain.ts';
import type { VoicePart } from './source.ts';

interface Fade {
  readonly from: Voice | null;
  readonly to: Voice | null;
  /** Where the position stands after fading to nothing; where the fade ends when null. */
  readonly rest: number | null;
  left: number;
}

/** The voice that is heard, and the crossfade to the next one. */
export class Voices {
  readonly #kernels: Kernels;
  readonly #mixer: Mixer;
  readonly #fadeFrames: number;
  readonly #voiceFrames: number;
  readonly #weights: readonly [out: number, into: number];
  #now: Voice | null = null;
  #fade: Fade | null = null;

  constructor(kernels: Kernels, mixer: Mixer, fadeFrames: number) {
    this.#kernels = kernels;
    this.#mixer = mixer;
    this.#fadeFrames = fadeFrames;
    this.#voiceFrames = kernels.allocate(8 * mostFrames);
    this.#weights = [kernels.allocate(4 * fadeFrames), kernels.allocate(4 * fadeFrames)];
  }

  /** The one that was heard last outside a fade. */
  get now(): Voice | null {
    return this.#now;
  }

  /** The one that is heard while no fade goes on. */
  get steady(): Voice | null {
    return this.#fade ? null : this.#now;
  }

  get sounding(): boolean {
    return this.#now !== null || this.#fade !== null;
  }

  /** Whether no voice is heard, and none is coming. */
  get silent(): boolean {
    return this.#now === null && !this.#fade?.to;
  }

  /** Next frame of the song; null when nothing was heard. */
  get position(): number | null {
    const { to, rest, from } = this.#fade ?? { to: this.#now, rest: null, from: null };
    return to?.position ?? rest ?? from?.position ?? null;
  }

  /** All that is heard now; in a fade, what comes as well. */
  all(): Set<Voice> {
    const voices = this.#fade ? [this.#fade.from, this.#fade.to] : [this.#now];
    return new Set(voices.filter((voice) => voice !== null));
  }

  parts(): VoicePart[] {
    return [...this.all()].flatMap(({ main, minus }) => (minus ? [main, minus] : [main]));
  }

  gains(): Set<MovingGain> {
    return new Set(this.parts().map(({ gain }) => gain));
  }

  /** Takes up what a fade has led to. False while one goes on. */
  arrive(): boolean {
    if (!this.#fade) return true;
    if (this.#fade.left > 0) return false;
    this.#now = this.#fade.to;
    this.#fade = null;
    return true;
  }

  /** @param rest where the position is to stand after fading to nothing; null: where the fade ends */
  fadeTo(to: Voice | null, rest: number | null): void {
    const from = this.#now;
    // What was not heard has its gain at once.
    const heard = new Set([from?.main.gain, from?.minus?.gain]);
    for (const gain of [to?.main.gain, to?.minus?.gain]) if (gain && !heard.has(gain)) gain.settle();
    const likeness = from && to ? likenessOf(this.#preview(from), this.#preview(to)) : 0;
    const weights = fadeWeights(this.#fadeFrames, likeness);
    floats(this.#kernels, this.#weights[0], this.#fadeFrames).set(weights.out);
    floats(this.#kernels, this.#weights[1], this.#fadeFrames).set(weights.in);
    this.#fade = { from, to, rest, left: this.#fadeFrames };
  }

  /** Makes up to `most` frames of what is heard at `out`, and says how many. */
  mix(out: number, most: number): number {
    const moving = [...this.gains()].map(({ left }) => left).filter((left) => left > 0);
    const count = Math.min(most, this.#fade?.left ?? most, ...moving);
    this.#clear(out, count);
    if (this.#fade) {
      const done = 4 * (this.#fadeFrames - this.#fade.left);
      this.#addFaded(this.#fade.from, this.#weights[0] + done, count, out);
      this.#addFaded(this.#fade.to, this.#weights[1] + done, count, out);
      this.#fade.left -= count;
    } else if (this.#now) this.#mixer.add(this.#now, this.#now.position, count, out);
    for (const gain of this.gains()) gain.advance(count);
    for (const voice of this.all()) voice.position += count;
    return count;
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

  #addFaded(voice: Voice | null, weights: number, count: number, out: number): void {
    if (!voice) return;
    this.#clear(this.#voiceFrames, count);
    this.#mixer.add(voice, voice.position, count, this.#voiceFrames);
    this.#kernels.addFaded(this.#voiceFrames, weights, count, out);
  }

  #clear(pointer: number, count: number): void {
    floats(this.#kernels, pointer, 2 * count).fill(0);
  }
}
