/**
 * A gain that goes to its next value in a straight line, from wherever it is. Straight, not of equal power: sounds that are
 * laid over each other to the sample add up in amplitude, and two such lines keep their sum where it was.
 */
export class Fader {
  readonly node: GainNode;
  readonly #seconds: number;
  #from: number;
  #to: number;
  #since = Number.NEGATIVE_INFINITY;

  constructor(context: BaseAudioContext, value: number, seconds: number) {
    this.node = context.createGain();
    this.node.gain.value = value;
    this.#seconds = seconds;
    this.#from = value;
    this.#to = value;
  }

  fadeTo(value: number, when: number): void {
    // Worked out rather than read: what a browser says the gain is lags behind what it plays.
    const share = Math.min(1, Math.max(0, (when - this.#since) / this.#seconds));
    const underWay = share < 1;
    this.#from += (this.#to - this.#from) * share;
    this.#to = value;
    this.#since = when;
    const { gain } = this.node;
    gain.cancelScheduledValues(when);
    // Cancelling takes a line under way away from its beginning on; its first part is drawn again up to here.
    if (underWay) gain.linearRampToValueAtTime(this.#from, when);
    else gain.setValueAtTime(this.#from, when);
    this.node.gain.linearRampToValueAtTime(value, when + this.#seconds);
  }
}
