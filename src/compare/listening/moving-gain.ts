/** A gain that moves in straight lines. */
export class MovingGain {
  /** Now, and by how much it moves a frame for how many frames yet. */
  value = 1;
  step = 0;
  left = 0;
  #to = 1;

  /** Has it reach `gain` in `frames`; at once when 0. */
  moveTo(gain: number, frames: number): void {
    if (this.#to === gain && frames > 0) return;
    this.#to = gain;
    this.left = frames;
    this.step = frames > 0 ? (gain - this.value) / frames : 0;
    if (frames === 0) this.value = gain;
  }

  /** At once where it was to go. */
  settle(): void {
    this.moveTo(this.#to, 0);
  }

  /** `frames` have gone by, no more than are left. */
  advance(frames: number): void {
    if (this.left === 0) return;
    this.left -= frames;
    this.value += this.step * frames;
    if (this.left > 0) return;
    this.value = this.#to;
    this.step = 0;
  }

  /** Multiplies frames by it as it moves on; any number of them. */
  apply(left: Float32Array, right: Float32Array, frames: number): void {
    for (let at = 0; at < frames; ) {
      const count = this.left > 0 ? Math.min(this.left, frames - at) : frames - at;
      const { value, step } = this;
      if (value !== 1 || step !== 0)
        for (let i = 0; i < count; i++) {
          left[at + i] *= value + step * i;
          right[at + i] *= value + step * i;
        }
      this.advance(count);
      at += count;
    }
  }
}
