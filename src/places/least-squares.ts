/**
 * Solves A x = b for a symmetric positive definite A by Cholesky's decomposition (textbook). Throws RangeError when A is not
 * positive definite.
 *
 * @param matrix n rows of n; only the lower half is read
 */
export function solveSymmetric(matrix: readonly Float64Array[], right: Float64Array): Float64Array {
  const n = right.length;
  const lower = matrix.map((row) => Float64Array.from(row));
  for (let i = 0; i < n; i++)
    for (let k = 0; k <= i; k++) {
      let sum = lower[i][k];
      for (let j = 0; j < k; j++) sum -= lower[i][j] * lower[k][j];
      if (i === k) {
        if (!(sum > 0)) throw new RangeError('the matrix is not positive definite');
        lower[i][i] = Math.sqrt(sum);
      } else lower[i][k] = sum / lower[k][k];
    }
  const x = Float64Array.from(right);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) x[i] -= lower[i][j] * x[j];
    x[i] /= lower[i][i];
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let j = i + 1; j < n; j++) x[i] -= lower[j][i] * x[j];
    x[i] /= lower[i][i];
  }
  return x;
}
