import { floats, type Kernels } from '../../signal/kernels.ts';
import type { Makers, Surround } from './insert.ts';
import { mostFrames } from './mixer.ts';
import { MovingGain } from './moving-gain.ts';

/** Sound of the past that is kept, frames: what a place needs to be as if it had been heard all along. */
const pastFrames = 32_768;
/** How many frames of the past a place that comes works on for each frame heard. */
const catchUp = 8;

/** One way of hearing what was mixed: a place, or none. */
interface Way {
  readonly surround: Surround | null;
  readonly gain: MovingGain;
  /** Frame of the mix that goes in next. */
  at: number;
}

/**
 * What comes after the mix: the place that all is heard in. One place goes over into another in a cross-fade, after the new
 * one has caught up on what was played. A place is late, so what is mixed runs ahead of what is heard by `lead`.
 */
export class Stage<Place> {
  readonly #kernels: Kernels;
  readonly #make: Makers<never, Place>['surround'];
  readonly #fadeFrames: number;
  readonly #past: readonly [Float32Array, Float32Array];
  readonly #in: readonly [Float32Array, Float32Array];
  readonly #out: readonly [Float32Array, Float32Array];
  readonly #other: readonly [Float32Array, Float32Array];
  /** Up while something is heard. */
  readonly #level = new MovingGain();
  #now: Way = plainWay();
  #next: Way | null = null;
  #wish: Way | null = null;
  /** Frames of the cross-fade that are done. */
  #faded = 0;
  /** Frames mixed since it was silent last. */
  #mixed = 0;
  /** Frames for which nothing was mixed. */
  #silent = Number.POSITIVE_INFINITY;
  #lead = 0;
  #unheard = 0;

  constructor(kernels: Kernels, fadeFrames: number, make: Makers<never, Place>['surround']) {
    this.#kernels = kernels;
    this.#make = make;
    this.#fadeFrames = fadeFrames;
    const pair = (length: number) => [new Float32Array(length), new Float32Array(length)] as const;
    this.#past = pair(pastFrames);
    [this.#in, this.#out, this.#other] = [pair(mostFrames), pair(mostFrames), pair(mostFrames)];
  }

  /** Whether anything still goes out, after the mix has ended as well. */
  get sounding(): boolean {
    const tail = this.#lead === 0 ? 0 : this.#lead + this.#fadeFrames + 2 * mostFrames;
    return this.#silent === 0 || this.#silent < tail;
  }

  /** By how many frames what is heard is behind the mix. */
  get behind(): number {
    return this.sounding || this.#unheard > 0 ? this.#lead - this.#unheard : 0;
  }

  /** Frames of the mix that are to be made ahead, and not heard. */
  get unheard(): number {
    return this.#unheard;
  }

  /** Frames before the first one heard with which a place settles. */
  get runUp(): number {
    return this.#now.surround?.settledFrames ?? 0;
  }

  /** @param gain after the place, factor */
  set(place: Place | null, gain: number): void {
    const way = { surround: place === null ? null : this.#make(place), gain: new MovingGain(), at: 0 };
    way.gain.moveTo(gain, 0);
    if (!this.sounding) this.#rest(way);
    else if (this.#next) this.#wish = way;
    else this.#begin(way);
  }

  setGain(gain: number): void {
    const way = this.#wish ?? this.#next ?? this.#now;
    if (way.surround) way.gain.moveTo(gain, this.sounding ? this.#fadeFrames : 0);
  }

  /** The mix is about to begin, `runUp` frames before it is to be heard. */
  start(runUp: number): void {
    if (!this.#now.surround) return;
    this.#unheard = runUp + this.#lead;
    this.#level.moveTo(0, 0);
  }

  /** Takes the next frames of the mix, interleaved, and puts what is heard in their place. Those that are unheard are not. */
  process(frames: number, count: number, playing: boolean): void {
    this.#silent = playing ? 0 : this.#silent + count;
    const samples = floats(this.#kernels, frames, 2 * count);
    if (!this.sounding) {
      samples.fill(0);
      if (this.#mixed > 0) this.#rest(this.#wish ?? this.#next ?? this.#now);
      return;
    }
    const [left, right] = this.#in;
    for (let i = 0; i < count; i++) {
      left[i] = samples[2 * i];
      right[i] = samples[2 * i + 1];
      const place = (this.#mixed + i) % pastFrames;
      this.#past[0][place] = left[i];
      this.#past[1][place] = right[i];
    }
    this.#mixed += count;
    // As it was mixed, bit by bit.
    if (!this.#now.surround && !this.#next && this.#lead === 0) return;
    this.#now.at = this.#mixed - count;
    this.#hear(this.#now, count, this.#out);
    this.#crossFade(count);
    if (this.#unheard > 0) this.#unheard -= count;
    else {
      this.#level.moveTo(this.#silent > this.#lead ? 0 : 1, this.#fadeFrames);
      this.#level.apply(this.#out[0], this.#out[1], count);
    }
    for (let i = 0; i < count; i++) {
      samples[2 * i] = this.#out[0][i];
      samples[2 * i + 1] = this.#out[1][i];
    }
  }

  #begin(way: Way): void {
    this.#next = way;
    this.#faded = 0;
    const settled = way.surround?.settledFrames ?? 0;
    way.at = Math.max(0, this.#mixed - Math.min(settled, pastFrames - mostFrames));
    const lead = way.surround?.latencyFrames ?? 0;
    if (lead <= this.#lead) return;
    // From now on the mix runs ahead; what it is ahead by is made before more is heard.
    this.#unheard += lead - this.#lead;
    this.#lead = lead;
  }

  /** Nothing is heard: as if nothing had been. */
  #rest(way: Way): void {
    this.#now = way;
    this.#next = null;
    this.#wish = null;
    way.surround?.reset();
    way.gain.settle();
    way.at = 0;
    for (const past of this.#past) past.fill(0);
    this.#mixed = 0;
    this.#unheard = 0;
    this.#lead = way.surround?.latencyFrames ?? 0;
    this.#silent = Number.POSITIVE_INFINITY;
    this.#level.moveTo(1, 0);
  }

  /** What was mixed until now, or less, as it is heard that way. Never looks further back than `pastFrames`. */
  #hear(way: Way, count: number, out: readonly [Float32Array, Float32Array]): void {
    const { surround } = way;
    const from = way.at - (surround ? 0 : this.#lead);
    const [left, right] = surround ? this.#other : out;
    for (let i = 0; i < count; i++) {
      const place = from + i;
      left[i] = place < 0 ? 0 : this.#past[0][place % pastFrames];
      right[i] = place < 0 ? 0 : this.#past[1][place % pastFrames];
    }
    if (surround) {
      surround.process(left, right, out[0], out[1], count);
      way.gain.apply(out[0], out[1], count);
    }
    way.at += count;
  }

  #crossFade(count: number): void {
    const next = this.#next;
    if (!next) return;
    const block = this.#mixed - count;
    const { surround } = next;
    if (surround) {
      for (let spare = catchUp * count; next.at < block && spare > 0; ) {
        const some = Math.min(mostFrames, spare, block - next.at);
        this.#hear(next, some, this.#other);
        spare -= some;
      }
    } else next.at = block;
    if (next.at < block || this.#unheard > 0) return;
    const [left, right] = this.#out;
    const before = [left.slice(0, count), right.slice(0, count)];
    this.#hear(next, count, this.#out);
    for (let i = 0; i < count; i++) {
      const share = Math.min(1, (this.#faded + i + 1) / this.#fadeFrames);
      left[i] = before[0][i] + share * (left[i] - before[0][i]);
      right[i] = before[1][i] + share * (right[i] - before[1][i]);
    }
    this.#faded += count;
    if (this.#faded < this.#fadeFrames) return;
    this.#now = next;
    this.#next = null;
    const wish = this.#wish;
    this.#wish = null;
    if (wish) this.#begin(wish);
  }
}

function plainWay(): Way {
  return { surround: null, gain: new MovingGain(), at: 0 };
}
