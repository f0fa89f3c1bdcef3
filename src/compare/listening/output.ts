import { doubles, floats, type Kernels } from '../../signal/kernels.ts';
import { aWeighting } from './a-weighting.ts';
import { type Turning, turningMatrix } from './hearing.ts';
import { mostFrames } from './mixer.ts';
import { PinkNoise } from './pink-noise.ts';

/** Time in which the noise comes up, s: time enough to turn it down. */
const noiseSeconds = 3;

/** The last part of the way: turning, noise, and the meter of what goes out. */
export class Output {
  readonly #kernels: Kernels;
  readonly #rampFrames: number;
  readonly #noiseFrames: number;
  readonly #noise: PinkNoise;
  /** Four f32 of the matrix, four of its steps. */
  readonly #matrix: number;
  readonly #left: number;
  readonly #right: number;
  readonly #filters: number;
  readonly #state: number;
  #matrixTo: Float32Array = Float32Array.of(1, 0, 0, 1);
  #matrixLeft = 0;
  #noiseGain = 0;
  #noiseTo = 0;
  #noiseLeft = 0;
  #weighted = 0;
  #frames = 0;

  constructor(kernels: Kernels, sampleRate: number, rampFrames: number) {
    this.#kernels = kernels;
    this.#rampFrames = rampFrames;
    this.#noiseFrames = Math.round(noiseSeconds * sampleRate);
    this.#noise = new PinkNoise(sampleRate);
    this.#matrix = kernels.allocate(32);
    this.#left = kernels.allocate(4 * mostFrames);
    this.#right = kernels.allocate(4 * mostFrames);
    this.#filters = kernels.allocate(8 * 15);
    this.#state = kernels.allocate(96);
    floats(kernels, this.#matrix, 4).set(this.#matrixTo);
    doubles(kernels, this.#filters, 15).set(
      aWeighting(sampleRate).flatMap(({ b0, b1, b2, a1, a2 }) => [b0, b1, b2, a1, a2]),
    );
  }

  /** Frames until something that moves has arrived; stretches must not be longer. */
  get untilEvent(): number {
    return Math.min(this.#matrixLeft || mostFrames, this.#noiseLeft || mostFrames);
  }

  /** Sum of the A-weighted squares of both channels that went out, and frames for which something was playing. */
  get exposure(): { readonly weighted: number; readonly frames: number } {
    return { weighted: this.#weighted, frames: this.#frames };
  }

  get sounding(): boolean {
    return this.#noiseGain > 0 || this.#noiseTo > 0;
  }

  turn(turning: Turning): void {
    this.#matrixTo = turningMatrix(turning);
    this.#matrixLeft = this.#rampFrames;
    const matrix = floats(this.#kernels, this.#matrix, 8);
    for (let i = 0; i < 4; i++) matrix[4 + i] = (this.#matrixTo[i] - matrix[i]) / this.#matrixLeft;
  }

  setNoise(on: boolean): void {
    this.#noiseTo = on ? 1 : 0;
    this.#noiseLeft = on ? this.#noiseFrames : this.#rampFrames;
  }

  /** Sends `count` frames out. @param playing whether they are more than silence */
  send(frames: number, count: number, playing: boolean, left: Float32Array, right: Float32Array): void {
    const kernels = this.#kernels;
    kernels.turnFrames(frames, count, this.#matrix, this.#left, this.#right);
    const own = [floats(kernels, this.#left, count), floats(kernels, this.#right, count)] as const;
    if (this.sounding) {
      const step = this.#noiseLeft > 0 ? (this.#noiseTo - this.#noiseGain) / this.#noiseLeft : 0;
      this.#noise.add(own[0], own[1], count, this.#noiseGain, step);
      this.#noiseLeft = Math.max(0, this.#noiseLeft - count);
      this.#noiseGain = this.#noiseLeft === 0 ? this.#noiseTo : this.#noiseGain + step * count;
    } else this.#noiseLeft = 0;
    if (playing || this.sounding) {
      this.#weighted += kernels.weighLevel(this.#left, this.#right, count, this.#filters, this.#state);
      this.#frames += count;
    }
    this.#moveMatrix(count);
    left.set(own[0]);
    right.set(own[1]);
  }

  #moveMatrix(count: number): void {
    if (this.#matrixLeft === 0) return;
    this.#matrixLeft -= count;
    const matrix = floats(this.#kernels, this.#matrix, 8);
    for (let i = 0; i < 4; i++) matrix[i] += matrix[4 + i] * count;
    if (this.#matrixLeft > 0) return;
    matrix.set(this.#matrixTo);
    matrix.fill(0, 4);
  }
}
