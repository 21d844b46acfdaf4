/**
 * Laplace's approximation about the Gauss–Newton optimum, for unknowns whose prior is standard normal.
 * Marginal likelihood and posterior follow from the optimum and the curvature there (method.md section 6).
 */
import { choleskyInPlace, choleskySolveInPlace, logDeterminant } from "./linear-algebra.ts";

/** Residuals in units of their standard uncertainty, as a function of the unknowns. */
export interface LeastSquaresProblem {
  readonly unknowns: number;
  readonly residuals: number;
  /** unknowns that the residuals follow most unevenly: no step moves them by more than a part of a prior deviation */
  readonly uneven?: readonly number[];
  evaluate(unknowns: Float64Array, residuals: Float64Array): void;
  /** ∂residual/∂unknown, a row a residual; where left out it is found by moving each unknown a little */
  slopes?(unknowns: Float64Array, residuals: Float64Array, jacobian: Float64Array): void;
}

export interface LaplaceFit {
  /** most probable unknowns, in prior standard deviations */
  readonly optimum: Float64Array;
  /** ln of the marginal likelihood, without the constant −½·n·ln 2π and the ln σ of the residuals */
  readonly logEvidence: number;
  /** half the sum of squares of residuals and unknowns at the optimum */
  readonly cost: number;
  /** lower Cholesky factor of the posterior precision JᵀJ + I, row by row */
  readonly precisionFactor: Float64Array;
  /** residuals at the optimum */
  readonly residuals: Float64Array;
  /** ∂residual/∂unknown at the optimum, a row a residual */
  readonly jacobian: Float64Array;
}

const mostSteps = 25;
const jacobianStep = 1e-5;
const unevenStep = 0.4;
/** A step that gains less than this in ln probability is the last. */
const leastGain = 0.003;
/** Steps after which a hypothesis that lies hopelessly behind is left where it stands. */
const patientSteps = 8;

export interface FitOptions {
  /**
   * Degrees of freedom of Student's t for the residuals: a reading far off then speaks in proportion to the logarithm
   * of its miss, as one that was taken wrongly does. Left out: normal.
   */
  readonly tail?: number;
  /** the start is near an optimum: no least squares first */
  readonly near?: boolean;
  /** cost beyond which a closer optimum would change nothing */
  readonly hopelessCost?: number;
}

/**
 * @param start where to begin, in prior standard deviations
 * @example one unknown z ~ N(0, 1), one residual (z − 1)/1: optimum 0.5, evidence ½·ln½ − ¼
 */
export function fitLaplace(problem: LeastSquaresProblem, start: Float64Array, options: FitOptions = {}): LaplaceFit {
  const { tail = Number.POSITIVE_INFINITY, hopelessCost = Number.POSITIVE_INFINITY, near = false } = options;
  const heavy = tail < Number.POSITIVE_INFINITY;
  // Least squares first: from far away every reading looks wrong, and none would be listened to.
  const from =
    heavy && !near ? descend(problem, start, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY).point : start;
  const { point, residuals, cost } = descend(problem, from, tail, hopelessCost);
  const size = problem.unknowns;
  const jacobian = new Float64Array(problem.residuals * size);
  const precisionFactor = new Float64Array(size * size);
  fillJacobian(problem, point, residuals, jacobian);
  fillPrecision(jacobian, residualWeights(residuals, tail), precisionFactor, size);
  choleskyInPlace(precisionFactor, size);
  return {
    optimum: point,
    logEvidence: -cost - logDeterminant(precisionFactor, size) / 2,
    cost,
    precisionFactor,
    residuals,
    jacobian,
  };
}

interface Descent {
  readonly point: Float64Array;
  readonly residuals: Float64Array;
  readonly cost: number;
}

/** Gauss–Newton steps, each halved until it gains; readings weighed by how well they fit where the tail is heavy. */
function descend(problem: LeastSquaresProblem, start: Float64Array, tail: number, hopelessCost: number): Descent {
  const { unknowns: size, residuals: count } = problem;
  let point = Float64Array.from(start);
  let residuals = new Float64Array(count);
  const jacobian = new Float64Array(count * size);
  const precision = new Float64Array(size * size);
  const step = new Float64Array(size);
  let trial = new Float64Array(size);
  let trialResiduals = new Float64Array(count);
  problem.evaluate(point, residuals);
  let cost = minusLogPosterior(point, residuals, tail);

  for (let iteration = 0; iteration < mostSteps; iteration++) {
    fillJacobian(problem, point, residuals, jacobian);
    fillStep(point, residuals, jacobian, residualWeights(residuals, tail), precision, step);
    for (const k of problem.uneven ?? []) step[k] = Math.max(-unevenStep, Math.min(unevenStep, step[k]!));
    let trialCost = Number.POSITIVE_INFINITY;
    for (let share = 1; share > 1e-3 && !(trialCost <= cost); share /= 2) {
      for (let k = 0; k < size; k++) trial[k] = point[k]! - share * step[k]!;
      problem.evaluate(trial, trialResiduals);
      trialCost = minusLogPosterior(trial, trialResiduals, tail);
    }
    if (!(trialCost <= cost)) break;
    [point, trial] = [trial, point];
    [residuals, trialResiduals] = [trialResiduals, residuals];
    const gain = cost - trialCost;
    cost = trialCost;
    if (gain < leastGain || (iteration >= patientSteps && cost > hopelessCost)) break;
  }
  return { point, residuals, cost };
}

/** −ln of prior and likelihood, without constants: what the fit makes least. */
export function minusLogPosterior(point: Float64Array, residuals: Float64Array, tail: number): number {
  if (tail === Number.POSITIVE_INFINITY) return halfSquares(point) + halfSquares(residuals);
  let sum = 0;
  for (let k = 0; k < residuals.length; k++) sum += Math.log1p((residuals[k]! * residuals[k]!) / tail);
  return halfSquares(point) + ((tail + 1) / 2) * sum;
}

/** What each squared residual counts for in a step: 1 throughout for the normal distribution. */
export function residualWeights(residuals: Float64Array, tail: number): Float64Array {
  return residuals.map((r) => (tail === Number.POSITIVE_INFINITY ? 1 : (tail + 1) / (tail + r * r)));
}

function halfSquares(values: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < values.length; k++) sum += values[k]! * values[k]!;
  return sum / 2;
}

function fillJacobian(
  problem: LeastSquaresProblem,
  point: Float64Array,
  residuals: Float64Array,
  jacobian: Float64Array,
): void {
  if (problem.slopes !== undefined) {
    problem.slopes(point, residuals, jacobian);
    return;
  }
  const size = problem.unknowns;
  const moved = new Float64Array(residuals.length);
  for (let k = 0; k < size; k++) {
    const held = point[k]!;
    point[k] = held + jacobianStep;
    problem.evaluate(point, moved);
    point[k] = held;
    for (let n = 0; n < residuals.length; n++) jacobian[n * size + k] = (moved[n]! - residuals[n]!) / jacobianStep;
  }
}

/** JᵀWJ + I, lower triangle: data and standard normal prior together. */
function fillPrecision(jacobian: Float64Array, weights: Float64Array, precision: Float64Array, size: number): void {
  precision.fill(0);
  const touched = new Int32Array(size);
  for (let n = 0; n < weights.length; n++) {
    const row = n * size;
    // A reading depends on a part of the unknowns only: on its own meter, its own condition.
    let count = 0;
    for (let a = 0; a < size; a++) if (jacobian[row + a] !== 0) touched[count++] = a;
    for (let i = 0; i < count; i++) {
      const a = touched[i]!;
      const slope = weights[n]! * jacobian[row + a]!;
      for (let j = 0; j <= i; j++) precision[a * size + touched[j]!]! += slope * jacobian[row + touched[j]!]!;
    }
  }
  for (let a = 0; a < size; a++) precision[a * size + a]! += 1;
}

/** The full Gauss–Newton step, to be subtracted from the point. */
function fillStep(
  point: Float64Array,
  residuals: Float64Array,
  jacobian: Float64Array,
  weights: Float64Array,
  precision: Float64Array,
  step: Float64Array,
): void {
  const size = point.length;
  step.set(point);
  for (let n = 0; n < residuals.length; n++) {
    const pull = weights[n]! * residuals[n]!;
    for (let k = 0; k < size; k++) step[k]! += jacobian[n * size + k]! * pull;
  }
  fillPrecision(jacobian, weights, precision, size);
  choleskyInPlace(precision, size);
  choleskySolveInPlace(precision, size, step);
}

/**
 * The same fit with one unknown more that no residual depends on: it stays as its prior says, and the evidence is the same.
 * @param place where the new unknown stands
 */
export function withIdleUnknown(fit: LaplaceFit, place: number): LaplaceFit {
  const size = fit.optimum.length;
  const wide = size + 1;
  const old = (k: number) => (k < place ? k : k + 1);
  const optimum = new Float64Array(wide);
  const precisionFactor = new Float64Array(wide * wide);
  for (let row = 0; row < size; row++) {
    optimum[old(row)] = fit.optimum[row]!;
    for (let column = 0; column <= row; column++)
      precisionFactor[old(row) * wide + old(column)] = fit.precisionFactor[row * size + column]!;
  }
  precisionFactor[place * wide + place] = 1;
  const jacobian = new Float64Array(fit.residuals.length * wide);
  for (let n = 0; n < fit.residuals.length; n++)
    for (let k = 0; k < size; k++) jacobian[n * wide + old(k)] = fit.jacobian[n * size + k]!;
  return { ...fit, optimum, precisionFactor, jacobian };
}
