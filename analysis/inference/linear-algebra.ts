/**
 * The little linear algebra that a Gauss–Newton step needs: Cholesky factors of small dense symmetric matrices,
 * stored row by row in one Float64Array.
 */

/**
 * Lower factor L of A = L·Lᵀ, written over the lower triangle of `a`.
 * @param a size × size, symmetric, positive definite
 * @returns false where `a` is not positive definite (then its content is spoilt)
 */
export function choleskyInPlace(a: Float64Array, size: number): boolean {
  for (let row = 0; row < size; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = a[row * size + column]!;
      for (let k = 0; k < column; k++) sum -= a[row * size + k]! * a[column * size + k]!;
      if (row === column) {
        if (!(sum > 0)) return false;
        a[row * size + row] = Math.sqrt(sum);
      } else a[row * size + column] = sum / a[column * size + column]!;
    }
  }
  return true;
}

/** Solves L·Lᵀ·x = b, `b` given and x returned in the same array. */
export function choleskySolveInPlace(factor: Float64Array, size: number, b: Float64Array): void {
  for (let row = 0; row < size; row++) {
    let sum = b[row]!;
    for (let k = 0; k < row; k++) sum -= factor[row * size + k]! * b[k]!;
    b[row] = sum / factor[row * size + row]!;
  }
  solveUpperInPlace(factor, size, b);
}

/** Solves Lᵀ·x = b: turns independent standard normals into a draw with covariance (L·Lᵀ)⁻¹. */
export function solveUpperInPlace(factor: Float64Array, size: number, b: Float64Array): void {
  for (let row = size - 1; row >= 0; row--) {
    let sum = b[row]!;
    for (let k = row + 1; k < size; k++) sum -= factor[k * size + row]! * b[k]!;
    b[row] = sum / factor[row * size + row]!;
  }
}

/** Solves L·x = b; the squared length of x is bᵀ·(L·Lᵀ)⁻¹·b. */
export function solveLowerInPlace(factor: Float64Array, size: number, b: Float64Array): void {
  for (let row = 0; row < size; row++) {
    let sum = b[row]!;
    for (let k = 0; k < row; k++) sum -= factor[row * size + k]! * b[k]!;
    b[row] = sum / factor[row * size + row]!;
  }
}

/** ln det(L·Lᵀ). */
export function logDeterminant(factor: Float64Array, size: number): number {
  let sum = 0;
  for (let k = 0; k < size; k++) sum += Math.log(factor[k * size + k]!);
  return 2 * sum;
}
