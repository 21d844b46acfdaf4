/**
 * Laplace's approximation about the Gauss–Newton optimum, for unknowns whose prior is standard normal.
 * Marginal likelihood and posterior follow from the optimum and the curvature there (method.md section 6).
 */
import { choleskyInPlace, choleskySolveInPlace, logDeterminant } from "./linear-algebra.ts";

/** Residuals in units of their standard uncertainty, as a function of the unknowns. */
export interface LeastSquaresProblem {
  readonly unknowns: number;
  readonly residuals: number;
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
/** A step that gains less than this in ln probability is the last. */
const leastGain = 0.003;
/** Steps after which a hypothesis that lies hopelessly behind is left where it stands. */
const patientSteps = 8;

/**
 * @param start where to begin, in prior standard deviations
 * @param hopelessCost half the sum of squares beyond which a closer optimum would change nothing
 * @example one unknown z ~ N(0, 1), one residual (z − 1)/1: optimum 0.5, evidence ½·ln½ − ¼
 */
export function fitLaplace(
  problem: LeastSquaresProblem,
  start: Float64Array,
  hopelessCost = Number.POSITIVE_INFINITY,
): LaplaceFit {
  const { unknowns: size, residuals: count } = problem;
  let point = Float64Array.from(start);
  let residuals = new Float64Array(count);
  const jacobian = new Float64Array(count * size);
  const precision = new Float64Array(size * size);
  const step = new Float64Array(size);
  let trial = new Float64Array(size);
  let trialResiduals = new Float64Array(count);
  problem.evaluate(point, residuals);
  let cost = halfSquares(point) + halfSquares(residuals);

  for (let iteration = 0; iteration < mostSteps; iteration++) {
    fillJacobian(problem, point, residuals, jacobian);
    fillStep(point, residuals, jacobian, precision, step, size);
    let share = 1;
    let trialCost = Number.POSITIVE_INFINITY;
    for (; share > 1e-3; share /= 2) {
      for (let k = 0; k < size; k++) trial[k] = point[k]! - share * step[k]!;
      problem.evaluate(trial, trialResiduals);
      trialCost = halfSquares(trial) + halfSquares(trialResiduals);
      if (trialCost <= cost) break;
    }
    if (!(trialCost <= cost)) break;
    [point, trial] = [trial, point];
    [residuals, trialResiduals] = [trialResiduals, residuals];
    const gain = cost - trialCost;
    cost = trialCost;
    if (gain < leastGain || (iteration >= patientSteps && cost > hopelessCost)) break;
  }
  fillJacobian(problem, point, residuals, jacobian);
  fillPrecision(jacobian, precision, count, size);
  choleskyInPlace(precision, size);
  return {
    optimum: point,
    logEvidence: -cost - logDeterminant(precision, size) / 2,
    cost,
    precisionFactor: precision,
    residuals,
    jacobian,
  };
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

/** JᵀJ + I, lower triangle: data and standard normal prior together. */
function fillPrecision(jacobian: Float64Array, precision: Float64Array, count: number, size: number): void {
  precision.fill(0);
  for (let n = 0; n < count; n++) {
    const row = n * size;
    for (let a = 0; a < size; a++) {
      const slope = jacobian[row + a]!;
      if (slope === 0) continue;
      for (let b = 0; b <= a; b++) precision[a * size + b]! += slope * jacobian[row + b]!;
    }
  }
  for (let a = 0; a < size; a++) precision[a * size + a]! += 1;
}

/** The full Gauss–Newton step, to be subtracted from the point. */
function fillStep(
  point: Float64Array,
  residuals: Float64Array,
  jacobian: Float64Array,
  precision: Float64Array,
  step: Float64Array,
  size: number,
): void {
  step.set(point);
  for (let n = 0; n < residuals.length; n++) {
    for (let k = 0; k < size; k++) step[k]! += jacobian[n * size + k]! * residuals[n]!;
  }
  fillPrecision(jacobian, precision, residuals.length, size);
  choleskyInPlace(precision, size);
  choleskySolveInPlace(precision, size, step);
}
