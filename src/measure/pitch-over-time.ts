import { StepRows } from './step-rows.ts';
import { leastWeight, type SpectrumTaker } from './tone-over-time.ts';

/** C2 to B6, A4 = 440 Hz: where the chords and the tune of a song lie (common practice for chroma). */
const lowestPitch = 36;
const semitones = 60;
/** Levels this far below the loudest semitone of a step say nothing about its chord, dB (heuristic). */
const reachDb = 36;

/** What notes sound over time: which chord, in whatever octave. Steps are those of BandTrace. */
export interface PitchTrace {
  /** One array of 12 a step, C first: share of each pitch class, unit length as a vector; zeros in silence. */
  readonly classes: readonly Float32Array[];
}

/**
 * Chroma from the frames that the tone meter transforms anyway: power by semitone, in decibels above a floor that
 * follows the step's loudest semitone, folded into one octave (Fujishima 1999 and much since; from memory).
 */
export class PitchOverTime implements SpectrumTaker {
  /** First bin of each semitone and one more. */
  readonly #starts: readonly number[];
  readonly #rows = new StepRows();

  constructor(sampleRate: number, size: number) {
    this.#starts = Array.from({ length: semitones + 1 }, (_, i) => {
      const edgeHz = 440 * 2 ** ((lowestPitch + i - 0.5 - 69) / 12);
      return Math.min(size / 2, Math.ceil((edgeHz * size) / sampleRate));
    });
  }

  take(power: Float64Array, weight: number): void {
    if (weight < leastWeight) return;
    const row = new Float64Array(semitones);
    for (let s = 0; s < semitones; s++) {
      let sum = 0;
      for (let k = this.#starts[s]; k < this.#starts[s + 1]; k++) sum += power[k];
      row[s] = sum;
    }
    this.#rows.add(row, weight);
  }

  finish(): PitchTrace {
    return { classes: this.#rows.finish().rows.map(folded) };
  }
}

function folded(row: Float64Array): Float32Array {
  const classes = new Float32Array(12);
  const floor = row.reduce((most, power) => Math.max(most, power), 0) * 10 ** (-reachDb / 10);
  if (floor === 0) return classes;
  row.forEach((power, s) => {
    if (power > floor) classes[(lowestPitch + s) % 12] += 10 * Math.log10(power / floor);
  });
  const length = Math.sqrt(classes.reduce((sum, x) => sum + x * x, 0));
  return classes.map((x) => x / length);
}
