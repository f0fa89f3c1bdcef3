import type { PairTally } from './pair-votes.ts';

/**
 * Which strengths are looked among: strengths = base + sum of z_m directions[m]. `order` is the order bias where it is
 * held, null where it is free; `ties` whether 'no difference' is an answer of the model.
 */
export interface Family {
  readonly base: Float64Array;
  readonly directions: readonly Float64Array[];
  readonly order: number | null;
  readonly ties: boolean;
}

/**
 * Log-likelihood of the Davidson model in a family, its gradient and its information matrix. Parameters: the z of the
 * directions, then the order bias where free, then ln of the tie parameter nu where there are ties.
 *
 * With d = strength of the first - strength of the second + order: first : no difference : second
 * = e^(d/2) : nu : e^(-d/2).
 */
export class DavidsonLikelihood {
  readonly size: number;
  readonly gradient: Float64Array;
  /** Negative second derivatives, size x size; the lower half is kept. */
  readonly information: Float64Array;
  readonly #family: Family;
  readonly #entries: number;
  readonly #counts: Float64Array;
  readonly #steadying: number;
  readonly #orderAt: number;
  readonly #tieAt: number;
  readonly #strengths: Float64Array;
  /** Slopes of what is compared, for each parameter. */
  readonly #row: Float64Array;

  /** @param steadying half-votes, see `maximise` */
  constructor({ entries, counts }: PairTally, family: Family, steadying: number) {
    const free = family.directions.length;
    this.#family = family;
    this.#entries = entries;
    this.#counts = counts;
    this.#steadying = steadying;
    this.#orderAt = family.order === null ? free : -1;
    this.size = free + (family.order === null ? 1 : 0) + (family.ties ? 1 : 0);
    this.#tieAt = family.ties ? this.size - 1 : -1;
    this.gradient = new Float64Array(this.size);
    this.information = new Float64Array(this.size * this.size);
    this.#strengths = new Float64Array(entries);
    this.#row = new Float64Array(this.size);
  }

  /** A point's meaning; `tie` is -Infinity without ties. The strengths are overwritten by the next call. */
  place(point: Float64Array): { strengths: Float64Array; order: number; tie: number } {
    const { base, directions, order } = this.#family;
    const strengths = this.#strengths;
    strengths.set(base);
    for (let m = 0; m < directions.length; m++)
      for (let i = 0; i < this.#entries; i++) strengths[i] += point[m] * directions[m][i];
    return {
      strengths,
      order: order ?? point[this.#orderAt],
      tie: this.#tieAt >= 0 ? point[this.#tieAt] : Number.NEGATIVE_INFINITY,
    };
  }

  /** The log-likelihood at a point; with `slopes` also fills `gradient` and `information`. */
  at(point: Float64Array, slopes: boolean): number {
    const { strengths, order, tie } = this.place(point);
    if (slopes) {
      this.gradient.fill(0);
      this.information.fill(0);
    }
    const nu = Math.exp(tie);
    const { directions } = this.#family;
    const row = this.#row;
    let sum = 0;
    for (let first = 0; first < this.#entries; first++)
      for (let second = 0; second < this.#entries; second++) {
        const at = 3 * (first * this.#entries + second);
        const [forIt, tied, against] = [this.#counts[at], this.#counts[at + 1], this.#counts[at + 2]];
        const n = forIt + tied + against;
        if (n === 0) continue;
        const d = strengths[first] - strengths[second] + order;
        const up = Math.exp(d / 2);
        const all = up + 1 / up + nu;
        sum += ((forIt - against) * d) / 2 + (tied > 0 ? tied * tie : 0) - n * Math.log(all);
        if (!slopes) continue;
        for (let m = 0; m < directions.length; m++) row[m] = directions[m][first] - directions[m][second];
        if (this.#orderAt >= 0) row[this.#orderAt] = 1;
        if (this.#tieAt >= 0) row[this.#tieAt] = 0;
        const lean = (up - 1 / up) / (2 * all);
        const tiedShare = nu / all;
        this.#slope((forIt - against) / 2 - n * lean, n * ((1 - tiedShare) / 4 - lean * lean));
        if (this.#tieAt >= 0) this.#slopeOfTies(tied, n, tiedShare, lean);
      }
    return this.#steadying > 0 ? sum + this.#steady(strengths, order, tie, slopes) : sum;
  }

  /** Adds what is compared along `row`. */
  #slope(pull: number, spread: number): void {
    const { size, gradient, information } = this;
    const row = this.#row;
    for (let a = 0; a < size; a++) {
      if (row[a] === 0) continue;
      gradient[a] += pull * row[a];
      for (let b = 0; b <= a; b++) information[a * size + b] += spread * row[a] * row[b];
    }
  }

  #slopeOfTies(tied: number, n: number, tiedShare: number, lean: number): void {
    const { size, gradient, information } = this;
    const tieAt = this.#tieAt;
    gradient[tieAt] += tied - n * tiedShare;
    information[tieAt * size + tieAt] += n * tiedShare * (1 - tiedShare);
    for (let b = 0; b < tieAt; b++) information[tieAt * size + b] -= n * tiedShare * lean * this.#row[b];
  }

  #steady(strengths: Float64Array, order: number, tie: number, slopes: boolean): number {
    const row = this.#row;
    let sum = 0;
    for (let i = 0; i < this.#entries; i++) {
      row.fill(0);
      for (let m = 0; m < this.#family.directions.length; m++) row[m] = this.#family.directions[m][i];
      sum += this.#halfVotes(strengths[i], slopes);
    }
    row.fill(0);
    if (this.#orderAt >= 0) {
      row[this.#orderAt] = 1;
      sum += this.#halfVotes(order, slopes);
      row[this.#orderAt] = 0;
    }
    if (this.#tieAt >= 0) {
      // Of two equals a share nu / (2 + nu) is 'no difference': a comparison at ln(nu / 2).
      row[this.#tieAt] = 1;
      sum += this.#halfVotes(tie - Math.LN2, slopes);
    }
    return sum;
  }

  #halfVotes(value: number, slopes: boolean): number {
    const share = 1 / (1 + Math.exp(-value));
    const weight = this.#steadying;
    if (slopes) this.#slope(weight * (1 - 2 * share), 2 * weight * share * (1 - share));
    return -weight * (Math.log1p(Math.exp(-value)) + Math.log1p(Math.exp(value)));
  }
}
