/** What was measured last. */
export interface Work {
  /** Share of one core over the last second; null before that. */
  readonly load: number | null;
  /** How often the device had to wait for sound since the beginning. */
  readonly underruns: number;
}

/** Stretch over which the load is a mean, s. */
const windowSeconds = 1;
/** By so much the clock of the sound falls behind that on the wall, for good, when the device had to wait, ms. */
const missedMilliseconds = 4;
/** A gap between two blocks that is none of ours: the device was stopped, ms. */
const stoppedMilliseconds = 500;

/**
 * Measures in the audio thread what making the sound takes. That thread has only a clock of whole milliseconds; over a second
 * the many blocks' roundings even out, because they begin anywhere between two ticks. An underrun is seen by the sound's own
 * clock, which stands still while the device has nothing to play.
 */
export class WorkMeter {
  readonly #sampleRate: number;
  readonly #now: () => number;
  #work: Work = { load: null, underruns: 0 };
  #from = 0;
  #busy = 0;
  #last = Number.NEGATIVE_INFINITY;
  /** How far the wall's clock is before the sound's, ms: least of this stretch and of the one before. */
  #least = Number.POSITIVE_INFINITY;
  #before = Number.POSITIVE_INFINITY;

  /** @param now milliseconds */
  constructor(sampleRate: number, now: () => number) {
    this.#sampleRate = sampleRate;
    this.#now = now;
  }

  get work(): Work {
    return this.#work;
  }

  /** Does the work for a block that begins at `frame` of the sound's clock. */
  measure(frame: number, work: () => void): void {
    const began = this.#now();
    if (began - this.#last > stoppedMilliseconds) this.#begin(frame);
    if (frame - this.#from >= windowSeconds * this.#sampleRate) this.#end(frame);
    this.#least = Math.min(this.#least, began - (1000 * frame) / this.#sampleRate);
    work();
    this.#last = this.#now();
    this.#busy += this.#last - began;
  }

  #begin(frame: number): void {
    this.#from = frame;
    this.#busy = 0;
    this.#least = Number.POSITIVE_INFINITY;
    this.#before = Number.POSITIVE_INFINITY;
  }

  #end(frame: number): void {
    const milliseconds = (1000 * (frame - this.#from)) / this.#sampleRate;
    const missed = this.#least - this.#before > missedMilliseconds;
    this.#work = {
      load: this.#busy / milliseconds,
      underruns: this.#work.underruns + (missed ? 1 : 0),
    };
    this.#from = frame;
    this.#busy = 0;
    this.#before = this.#least;
    this.#least = Number.POSITIVE_INFINITY;
  }
}
