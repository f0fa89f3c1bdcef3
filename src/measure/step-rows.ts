/** Most rows kept; above it neighbours are joined and the step doubles. 23 minutes at 48 kHz before the first time. */
const mostRows = 4096;

/**
 * Rows of powers, one a step of time, of a sound whose length is not known beforehand. When there would be too many,
 * neighbours are averaged and the step doubles: memory does not grow with length, and a long sound ends with 2048 to
 * 4096 rows.
 */
export class StepRows {
  readonly #rows: Float64Array[] = [];
  readonly #most: number;
  /** How much each row counts: full steps are 1. */
  readonly #weights: number[] = [];
  /** Steps as they come in that make one row. */
  #joined = 1;
  #inLast = 0;

  /** @param most even number of rows above which neighbours are joined */
  constructor(most = mostRows) {
    this.#most = most;
  }

  /**
   * Adds one step.
   * @param energies taken over; sums over the step, not means
   * @param weight how much of a full step they were summed over, above 0
   */
  add(energies: Float64Array, weight: number): void {
    if (this.#inLast === this.#joined || this.#rows.length === 0) {
      if (this.#rows.length === this.#most) this.#halve();
      this.#rows.push(energies);
      this.#weights.push(weight);
      this.#inLast = 1;
      return;
    }
    const last = this.#rows.length - 1;
    const row = this.#rows[last];
    for (let i = 0; i < row.length; i++) row[i] += energies[i];
    this.#weights[last] += weight;
    this.#inLast++;
  }

  /** Means over each row, and how many steps a full row holds. Call once: sums become means where they stand. */
  finish(): { readonly rows: readonly Float64Array[]; readonly stepsInRow: number } {
    this.#rows.forEach((row, i) => {
      for (let k = 0; k < row.length; k++) row[k] /= this.#weights[i];
    });
    return { rows: this.#rows, stepsInRow: this.#joined };
  }

  #halve(): void {
    const half = this.#most / 2;
    for (let i = 0; i < half; i++) {
      const [first, second] = [this.#rows[2 * i], this.#rows[2 * i + 1]];
      for (let k = 0; k < first.length; k++) first[k] += second[k];
      this.#rows[i] = first;
      this.#weights[i] = this.#weights[2 * i] + this.#weights[2 * i + 1];
    }
    this.#rows.length = half;
    this.#weights.length = half;
    this.#joined *= 2;
    this.#inLast = this.#joined;
  }
}
