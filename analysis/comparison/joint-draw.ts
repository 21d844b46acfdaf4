/**
 * Draws from joint belief: each is one way the vehicle may have been and may be now, so that what both rounds share,
 * a meter's gain above all, is the same in both and leaves their difference.
 */
import type { CircuitSolution } from "../inference/circuit.ts";
import { type Condition, plainCondition } from "../inference/condition.ts";
import { solveUpperInPlace } from "../inference/linear-algebra.ts";
import type { LoopModel } from "../inference/loop-model.ts";
import { seededNormal } from "../inference/seeded-normal.ts";
import type { EngineState } from "../job/job.ts";
import type { JointBelief } from "./joint-belief.ts";

/** One round of a joint draw. */
export interface RoundDraw {
  readonly model: LoopModel;
  /** the unknowns in their own units */
  readonly values: Float64Array;
  /** of every part, no contact shifted */
  readonly ohms: Float64Array;
}

export interface JointDraw {
  readonly belief: JointBelief;
  readonly before: RoundDraw;
  readonly after: RoundDraw;
}

const drawCount = 1000;
const seed = 20_261;

/** Beliefs take turns by systematic sampling, so that shares are exact to one draw. */
export function drawBoth(beliefs: readonly JointBelief[]): JointDraw[] {
  const normal = seededNormal(seed);
  const draws: JointDraw[] = [];
  let cumulative = 0;
  for (const belief of beliefs) {
    cumulative += belief.probability;
    while (draws.length < drawCount && (draws.length + 0.5) / drawCount < cumulative)
      draws.push(drawOf(belief, normal));
  }
  return draws;
}

function drawOf(belief: JointBelief, normal: () => number): JointDraw {
  const { rounds, fit } = belief;
  const unknowns = Float64Array.from({ length: rounds.unknowns }, normal);
  solveUpperInPlace(fit.precisionFactor, unknowns.length, unknowns);
  for (let k = 0; k < unknowns.length; k++) unknowns[k]! += fit.optimum[k]!;
  return {
    belief,
    before: roundDraw(rounds.before, rounds.beforeOf(unknowns)),
    after: roundDraw(rounds.after, rounds.afterOf(unknowns)),
  };
}

function roundDraw(model: LoopModel, unknowns: Float64Array): RoundDraw {
  const values = model.decode(unknowns);
  return { model, values, ohms: model.partOhms(values, false) };
}

/** Every figure asks for the same circuits: each is solved once. */
const solutions = new WeakMap<RoundDraw, Map<EngineState, CircuitSolution>>();

/** The circuit keyed, the set itself drawing, nothing bypassed. */
export function solvedKeyed(draw: RoundDraw, engine: EngineState): CircuitSolution {
  const solved = solutions.get(draw) ?? new Map<EngineState, CircuitSolution>();
  solutions.set(draw, solved);
  const { model, values } = draw;
  const solution = solved.get(engine) ?? model.solve(values, keyedIn(model.setting.conditions, engine));
  solved.set(engine, solution);
  return solution;
}

/** A round knows its conditions by identity: what has drifted in one belongs to that one. */
function keyedIn(conditions: readonly Condition[], engine: EngineState): Condition {
  return (
    conditions.find(
      (one) =>
        one.engine === engine &&
        one.radio === "transmit" &&
        one.drawnBy === "set" &&
        !one.disturbed &&
        one.bypassed.length === 0,
    ) ?? plainCondition(engine, "transmit")
  );
}
