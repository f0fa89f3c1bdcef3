/**
 * x that makes |A x - y| smallest, by Householder's QR (textbook); columns are scaled to length 1 first, so that their
 * units do not matter.
 *
 * @param rows rows of A, at least as many as columns
 */
export function leastSquares(rows: readonly (readonly number[])[], y: readonly number[]): number[] {
  const columns = rows[0].length;
  const scales = Array.from({ length: columns }, (_, c) => Math.hypot(...rows.map((row) => row[c])) || 1);
  const a = rows.map((row) => row.map((value, c) => value / scales[c]));
  const right = [...y];
  for (let c = 0; c < columns; c++) {
    const length = Math.hypot(...a.slice(c).map((row) => row[c])) * (a[c][c] > 0 ? -1 : 1);
    if (length === 0) continue;
    const mirror = a.slice(c).map((row) => row[c]);
    mirror[0] -= length;
    const power = mirror.reduce((sum, v) => sum + v * v, 0);
    const reflect = (get: (i: number) => number, set: (i: number, value: number) => void) => {
      const share = (2 * mirror.reduce((sum, v, i) => sum + v * get(c + i), 0)) / power;
      mirror.forEach((v, i) => {
        set(c + i, get(c + i) - share * v);
      });
    };
    for (let k = c; k < columns; k++)
      reflect(
        (i) => a[i][k],
        (i, value) => {
          a[i][k] = value;
        },
      );
    reflect(
      (i) => right[i],
      (i, value) => {
        right[i] = value;
      },
    );
  }
  const x = new Array<number>(columns).fill(0);
  for (let c = columns - 1; c >= 0; c--) {
    let sum = right[c];
    for (let k = c + 1; k < columns; k++) sum -= a[c][k] * x[k];
    x[c] = Math.abs(a[c][c]) > 1e-13 ? sum / a[c][c] : 0;
  }
  return x.map((value, c) => value / scales[c]);
}
