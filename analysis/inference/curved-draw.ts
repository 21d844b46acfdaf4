/**
 * Draws from the belief of a fit whose readings are no straight function of the unknowns. Contacts in series are each
 * known by the logarithm of their ohms, and their sum is read: a normal about the optimum would make that sum too large,
 * as the exponential is convex. Each draw here is an optimum of its own, with readings and prior moved by chance
 * (randomize then optimize, Bardsley and others 2014, from memory); where all is straight that is the normal itself.
 */
import { type LaplaceFit, type LeastSquaresProblem, residualWeights } from "./laplace.ts";
import { choleskyInPlace, choleskySolveInPlace } from "./linear-algebra.ts";

const mostSteps = 4;
const mostHalvings = 4;
/** Residuals this near to those foreseen, in standard uncertainties: the draw has arrived. */
const nearEnough = 0.6;

export interface CurvedProblem extends Pick<LeastSquaresProblem, "unknowns" | "residuals" | "evaluate"> {
  /** how fast unknown k moves what depends on it, at a point; only the ratio of two points counts */
  slopeAt(k: number, point: number): number;
}

/** @param tail degrees of freedom the fit was made with */
export function curvedDrawer(
  problem: CurvedProblem,
  fit: LaplaceFit,
  tail: number,
): (normal: () => number) => Float64Array {
  const { unknowns: size, residuals: count } = problem;
  const weights = residualWeights(fit.residuals, tail);
  const touched = touchedBy(fit.jacobian, count, size);
  const slopes = fit.optimum.map((z, k) => problem.slopeAt(k, z));
  const jacobian = Float64Array.from(fit.jacobian);
  const gram = new Float64Array(count * count);
  const pull = new Float64Array(count);
  const prior = new Float64Array(size);
  const readings = new Float64Array(count);

  /** The slopes of the optimum, each column as much steeper as its unknown has become. */
  function slopesAt(point: Float64Array): void {
    const stretch = point.map((z, k) => (slopes[k] === 0 ? 1 : problem.slopeAt(k, z) / slopes[k]!));
    for (let n = 0; n < count; n++) {
      const columns = touched[n]!;
      for (let i = 0; i < columns.length; i++) {
        const k = columns[i]!;
        jacobian[n * size + k] = fit.jacobian[n * size + k]! * stretch[k]!;
      }
    }
  }

  function fillGram(): void {
    for (let n = 0; n < count; n++) {
      for (let m = 0; m <= n; m++) {
        const [own, other, columns] = [n * size, m * size, touched[m]!];
        let product = n === m ? 1 / weights[n]! : 0;
        for (let i = 0; i < columns.length; i++) {
          const k = columns[i]!;
          product += jacobian[own + k]! * jacobian[other + k]!;
        }
        gram[n * count + m] = product;
      }
    }
    choleskyInPlace(gram, count);
  }

  /** What the moved readings and the moved prior agree on, all taken as straight from the point on. */
  function agreed(point: Float64Array, residuals: Float64Array, factor: Float64Array): Float64Array {
    for (let n = 0; n < count; n++) {
      const columns = touched[n]!;
      let sum = residuals[n]! - readings[n]!;
      for (let i = 0; i < columns.length; i++) {
        const k = columns[i]!;
        sum += jacobian[n * size + k]! * (prior[k]! - point[k]!);
      }
      pull[n] = sum;
    }
    choleskySolveInPlace(factor, count, pull);
    const next = Float64Array.from(prior);
    for (let n = 0; n < count; n++) {
      const columns = touched[n]!;
      for (let i = 0; i < columns.length; i++) next[columns[i]!]! -= jacobian[n * size + columns[i]!]! * pull[n]!;
    }
    return next;
  }

  function cost(point: Float64Array, residuals: Float64Array): number {
    let sum = 0;
    for (let k = 0; k < size; k++) sum += (point[k]! - prior[k]!) ** 2;
    for (let n = 0; n < count; n++) sum += weights[n]! * (residuals[n]! - readings[n]!) ** 2;
    return sum;
  }

  function isForeseen(from: Float64Array, before: Float64Array, to: Float64Array, after: Float64Array): boolean {
    for (let n = 0; n < count; n++) {
      const columns = touched[n]!;
      let foreseen = before[n]!;
      for (let i = 0; i < columns.length; i++) {
        const k = columns[i]!;
        foreseen += jacobian[n * size + k]! * (to[k]! - from[k]!);
      }
      if (Math.abs(after[n]! - foreseen) > nearEnough) return false;
    }
    return true;
  }

  // The first step of every draw starts from the optimum.
  fillGram();
  const gramAtOptimum = Float64Array.from(gram);

  /** A step from a point towards what is agreed on there, halved until it is the better for it. */
  function stepFrom(point: Float64Array, residuals: Float64Array, found: Float64Array): Float64Array | null {
    slopesAt(point);
    fillGram();
    const next = agreed(point, residuals, gram);
    const least = cost(point, residuals);
    for (let halving = 0; halving < mostHalvings; halving++) {
      problem.evaluate(next, found);
      if (cost(next, found) <= least) return next;
      for (let k = 0; k < size; k++) next[k] = (next[k]! + point[k]!) / 2;
    }
    return null;
  }

  return (normal) => {
    for (let k = 0; k < size; k++) prior[k] = normal();
    for (let n = 0; n < count; n++) readings[n] = normal() / Math.sqrt(weights[n]!);
    // The normal's own draw first, however ill it fits: halved, it would never leave the optimum along a narrow valley.
    jacobian.set(fit.jacobian);
    let point = agreed(fit.optimum, fit.residuals, gramAtOptimum);
    let residuals = new Float64Array(count);
    problem.evaluate(point, residuals);
    let arrived = isForeseen(fit.optimum, fit.residuals, point, residuals);
    for (let step = 0; step < mostSteps && !arrived; step++) {
      const found = new Float64Array(count);
      const next = stepFrom(point, residuals, found);
      if (next === null) break;
      arrived = isForeseen(point, residuals, next, found);
      [point, residuals] = [next, found];
    }
    return point;
  };
}

/** Which unknowns each residual depends on: its own meter, its own condition, the parts between its probes. */
function touchedBy(jacobian: Float64Array, count: number, size: number): Int32Array[] {
  return Array.from({ length: count }, (_, n) =>
    Int32Array.from({ length: size }, (_, k) => k).filter((k) => jacobian[n * size + k] !== 0),
  );
}
