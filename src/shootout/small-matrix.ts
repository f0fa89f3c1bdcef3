/** Cholesky factor of a positive definite n x n matrix (rows in one array), in place, lower half; false where it is not one. */
export function factorise(matrix: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j];
      for (let k = 0; k < j; k++) sum -= matrix[i * n + k] * matrix[j * n + k];
      if (i !== j) {
        matrix[i * n + j] = sum / matrix[j * n + j];
        continue;
      }
      // Rounding leaves about 1e-16 of what stood there where there should be nothing.
      if (!(sum > 1e-12 * matrix[i * n + i])) return false;
      matrix[i * n + i] = Math.sqrt(sum);
    }
  return true;
}

/** Solves (factor factor') x = vector, in place. */
export function solveFactored(factor: Float64Array, n: number, vector: Float64Array): void {
  for (let i = 0; i < n; i++) {
    let sum = vector[i];
    for (let k = 0; k < i; k++) sum -= factor[i * n + k] * vector[k];
    vector[i] = sum / factor[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = vector[i];
    for (let k = i + 1; k < n; k++) sum -= factor[k * n + i] * vector[k];
    vector[i] = sum / factor[i * n + i];
  }
}

/** Inverse of a positive definite matrix; null where it is not one. */
export function inverseOf(matrix: Float64Array, n: number): Float64Array | null {
  const factor = matrix.slice();
  if (!factorise(factor, n)) return null;
  const result = new Float64Array(n * n);
  const column = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    column.fill(0);
    column[j] = 1;
    solveFactored(factor, n, column);
    for (let i = 0; i < n; i++) result[i * n + j] = column[i];
  }
  return result;
}
