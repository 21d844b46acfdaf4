/**
 * Marginal likelihood by annealed importance sampling: each run walks from a normal that is easy to draw from to the
 * posterior itself, and the weights that it gathers on the way average to the ratio of the two.
 */
import { type LaplaceFit, type LeastSquaresProblem, minusLogPosterior } from "../../../analysis/inference/laplace.ts";
import { solveUpperInPlace } from "../../../analysis/inference/linear-algebra.ts";
import { readingTail } from "../../../analysis/inference/prior.ts";
import { seededNormal } from "../../../analysis/inference/seeded-normal.ts";

/** How much wider than Laplace's the normal is from which runs start: what lies outside is then reached. */
const widened = 1.1;
const leapfrogs = 8;
const stepSize = 0.12;

export interface Sampling {
  readonly runs: number;
  /** steps of one run from the normal to the posterior: with too few of them the evidence comes out too small */
  readonly temperatures: number;
  readonly seed: number;
}

export interface SampledEvidence {
  /** in Laplace's own units: without ½·n·ln 2π of the residuals and their ln σ */
  readonly logEvidence: number;
  /** standard uncertainty of it, from the spread of the runs' weights */
  readonly doubt: number;
}

/** A point in coordinates in which Laplace's normal is standard, with what is asked of it. */
interface Energy {
  at(x: Float64Array): number;
  slope(x: Float64Array, into: Float64Array): void;
}

export function sampledEvidence(
  problem: LeastSquaresProblem,
  fit: LaplaceFit,
  { runs, temperatures, seed }: Sampling,
): SampledEvidence {
  const size = problem.unknowns;
  const normal = seededNormal(seed);
  const energy = energyOf(problem, fit);
  const logs = Array.from({ length: runs }, () => oneRun(energy, size, temperatures, normal));
  const most = Math.max(...logs);
  const shares = logs.map((log) => Math.exp(log - most));
  const mean = shares.reduce((sum, share) => sum + share, 0) / runs;
  const variance = shares.reduce((sum, share) => sum + (share - mean) ** 2, 0) / (runs - 1);
  // The walk is in whitened coordinates: their volume is that of Laplace's normal.
  const volume = -logDeterminantHalf(fit.precisionFactor, size);
  return {
    logEvidence: most + Math.log(mean) + size * Math.log(widened) + volume,
    doubt: Math.sqrt(variance / runs) / mean,
  };
}

function logDeterminantHalf(factor: Float64Array, size: number): number {
  let sum = 0;
  for (let k = 0; k < size; k++) sum += Math.log(factor[k * size + k]!);
  return sum;
}

function energyOf(problem: LeastSquaresProblem, fit: LaplaceFit): Energy {
  const size = problem.unknowns;
  const point = new Float64Array(size);
  const residuals = new Float64Array(problem.residuals);
  const jacobian = new Float64Array(problem.residuals * size);
  const place = (x: Float64Array) => {
    point.set(x);
    solveUpperInPlace(fit.precisionFactor, size, point);
    for (let k = 0; k < size; k++) point[k]! += fit.optimum[k]!;
    problem.evaluate(point, residuals);
  };
  return {
    at(x) {
      place(x);
      return minusLogPosterior(point, residuals, readingTail);
    },
    slope(x, into) {
      place(x);
      problem.slopes!(point, residuals, jacobian);
      for (let k = 0; k < size; k++) {
        let sum = point[k]!;
        for (let n = 0; n < residuals.length; n++) {
          const r = residuals[n]!;
          sum += ((readingTail + 1) / (readingTail + r * r)) * r * jacobian[n * size + k]!;
        }
        into[k] = sum;
      }
      lowerTimesInverse(fit.precisionFactor, size, into);
    },
  };
}

/** Slopes with respect to x where point = optimum + L⁻ᵀ·x: L⁻¹ times the slopes with respect to the point. */
function lowerTimesInverse(factor: Float64Array, size: number, b: Float64Array): void {
  for (let row = 0; row < size; row++) {
    let sum = b[row]!;
    for (let k = 0; k < row; k++) sum -= factor[row * size + k]! * b[k]!;
    b[row] = sum / factor[row * size + row]!;
  }
}

function oneRun(energy: Energy, size: number, temperatures: number, normal: () => number): number {
  const x = Float64Array.from({ length: size }, () => widened * normal());
  let target = energy.at(x);
  let logWeight = 0;
  for (let step = 1; step <= temperatures; step++) {
    const [before, share] = [(step - 1) / temperatures, step / temperatures];
    logWeight += (share - before) * (startEnergy(x) - target);
    if (step < temperatures) target = walk(energy, x, target, share, normal);
  }
  return logWeight;
}

const startEnergy = (x: Float64Array): number => x.reduce((sum, one) => sum + one * one, 0) / (2 * widened ** 2);

/** One Hamiltonian step towards the mixture of start and target; x is moved where it is accepted. */
function walk(energy: Energy, x: Float64Array, target: number, share: number, normal: () => number): number {
  const size = x.length;
  const trial = Float64Array.from(x);
  const momentum = Float64Array.from({ length: size }, normal);
  const slope = new Float64Array(size);
  const pull = () => {
    energy.slope(trial, slope);
    for (let k = 0; k < size; k++) slope[k] = share * slope[k]! + ((1 - share) * trial[k]!) / widened ** 2;
  };
  const total = (at: Float64Array, own: number) =>
    share * own + (1 - share) * startEnergy(at) + momentum.reduce((sum, p) => sum + p * p, 0) / 2;
  const held = total(x, target);
  pull();
  for (let leap = 0; leap < leapfrogs; leap++) {
    for (let k = 0; k < size; k++) momentum[k]! -= (stepSize / 2) * slope[k]!;
    for (let k = 0; k < size; k++) trial[k]! += stepSize * momentum[k]!;
    pull();
    for (let k = 0; k < size; k++) momentum[k]! -= (stepSize / 2) * slope[k]!;
  }
  const moved = energy.at(trial);
  // Uniform from a normal: accepted with probability exp(held − now).
  const now = total(trial, moved);
  if (!(Math.log(uniformOf(normal)) < held - now)) return target;
  x.set(trial);
  return moved;
}

/** Two squared normals add to twice an exponential: its exponential back again is even between 0 and 1. */
const uniformOf = (normal: () => number): number => Math.exp(-(normal() ** 2 + normal() ** 2) / 2);
