/**
 * Figures with intervals, read off draws from belief: what flows and what stands in each state, each part, the source.
 */
import type { PartEntry, Q, RoundDiagnosis, StateEntry } from "../diagnosis.ts";
import type { CircuitSolution } from "../inference/circuit.ts";
import { type Condition, plainCondition } from "../inference/condition.ts";
import { type Draw, drawBelief } from "../inference/draw.ts";
import type { Posterior } from "../inference/posterior.ts";
import * as prior from "../inference/prior.ts";
import { seededNormal } from "../inference/seeded-normal.ts";
import type { EngineState, RadioState } from "../job/job.ts";
import { sumOfParts } from "../loop/expected-drop.ts";
import type { UncertainQuantity } from "../uncertain.ts";

/** Draws after and before the readings, with the circuit of each solved once for each condition. */
export interface DrawnBelief {
  readonly posterior: Posterior;
  readonly after: readonly Draw[];
  readonly before: readonly Draw[];
  solved(draw: Draw, condition: Condition): CircuitSolution;
  /** ohms of every part, no contact shifted */
  ohms(draw: Draw): Float64Array;
}

const drawCount = 1000;
/** A figure counts as measured when the readings have shrunk its doubt to this share or less. */
const measuredShare = 0.6;

export function drawnBelief(posterior: Posterior): DrawnBelief {
  const cache = new Map<Condition, Map<Draw, CircuitSolution>>();
  const ohmsOf = new Map<Draw, Float64Array>();
  return {
    posterior,
    after: drawBelief(posterior, drawCount),
    before: drawBelief(posterior, drawCount, true),
    solved(draw, condition) {
      const solutions = cache.get(condition) ?? new Map<Draw, CircuitSolution>();
      cache.set(condition, solutions);
      const known = solutions.get(draw) ?? draw.belief.model.solve(draw.values, condition);
      solutions.set(draw, known);
      return known;
    },
    ohms(draw) {
      const known = ohmsOf.get(draw) ?? draw.belief.model.partOhms(draw.values, false);
      ohmsOf.set(draw, known);
      return known;
    },
  };
}

/** Best value (median: the mean of a skewed or two-humped belief may lie outside its interval), standard deviation, central 95 %. */
export function summary(values: readonly number[]): UncertainQuantity {
  const sorted = Float64Array.from(values).sort();
  const mean = sorted.reduce((sum, value) => sum + value, 0) / sorted.length;
  const variance = sorted.reduce((sum, value) => sum + (value - mean) ** 2, 0) / sorted.length;
  const [low, value, high] = [0.025, 0.5, 0.975].map((share) => quantile(sorted, share)) as [number, number, number];
  return { value, low, high, uncertainty: Math.sqrt(variance) };
}

function quantile(sorted: Float64Array, share: number): number {
  const place = share * (sorted.length - 1);
  const below = Math.floor(place);
  const rest = place - below;
  return sorted[below]! * (1 - rest) + sorted[Math.min(below + 1, sorted.length - 1)]! * rest;
}

/** A figure from draws; null where the readings have told too little beyond what was believed before them. */
export function measured(drawn: DrawnBelief, figure: (draw: Draw) => number): Q {
  const after = summary(drawn.after.map(figure));
  const before = summary(drawn.before.map(figure));
  return after.high - after.low <= measuredShare * (before.high - before.low) ? after : null;
}

/**
 * What the source moves by within a state, as recovery and slow sag make it: nobody's moment is the state's own. Seeded;
 * battery and load move together.
 */
function wanderIn(condition: Condition): (draw: Draw, solution: CircuitSolution) => number {
  const normal = seededNormal(wanderSeed);
  const moments = new Map<Draw, number>();
  return (draw, { amps, sourceOhms }) => {
    const moment = moments.get(draw) ?? normal();
    moments.set(draw, moment);
    const sagging = prior.momentSagShare * Math.max(amps * sourceOhms - prior.soundSagVolts, 0);
    return Math.hypot(prior.driftVolts[condition.engine ?? "off"], sagging) * moment;
  };
}

const wanderSeed = 14;

export function stateEntries(drawn: DrawnBelief): StateEntry[] {
  return statesRead(drawn).map(({ engine, radio }) => {
    const condition = known(drawn.posterior.setting.conditions, plainCondition(engine, radio));
    const figure = (of: (solution: CircuitSolution) => number) =>
      measured(drawn, (draw) => of(drawn.solved(draw, condition)));
    const wander = wanderIn(condition);
    const volts = (of: (solution: CircuitSolution) => number) =>
      measured(drawn, (draw) => {
        const solution = drawn.solved(draw, condition);
        return of(solution) + wander(draw, solution);
      });
    return {
      engine,
      radio,
      amps: figure((solution) => solution.amps),
      batteryVolts: volts((solution) => solution.batteryVolts),
      loadVolts: volts((solution) => solution.loadVolts),
      supplyDropVolts: figure((solution) => legDrop(drawn, solution, "supply")),
      returnDropVolts: figure((solution) => legDrop(drawn, solution, "return")),
    };
  });
}

function statesRead(drawn: DrawnBelief): { engine: EngineState; radio: RadioState }[] {
  const { conditions, prepared } = drawn.posterior.setting;
  const read = new Set(prepared.map((entry) => conditions[entry.condition]!));
  const states = [...read].flatMap(({ engine, radio, drawnBy, disturbed, bypassed }) =>
    engine !== null && drawnBy === "set" && !disturbed && bypassed.length === 0 ? [{ engine, radio }] : [],
  );
  const rank = ({ engine, radio }: { engine: EngineState; radio: RadioState }) =>
    (engine === "off" ? 0 : 3) + ["off", "idle", "transmit"].indexOf(radio);
  return states.sort((a, b) => rank(a) - rank(b));
}

function legDrop(drawn: DrawnBelief, solution: CircuitSolution, leg: "supply" | "return"): number {
  const { expected } = drawn.posterior.setting;
  return expected.reduce((sum, part, i) => (part.leg === leg ? sum + solution.partDropVolts[i]! : sum), 0);
}

/** The plain condition in which the keyed drop is quoted: engine off where it was measured, else as it was. */
export function keyedCondition(drawn: Pick<DrawnBelief, "posterior">): Condition {
  const { conditions, prepared } = drawn.posterior.setting;
  const keyed = prepared.map((entry) => conditions[entry.condition]!).filter(({ radio }) => radio === "transmit");
  const wanted = (["off", null, "running"] as const).find((engine) => keyed.some((one) => one.engine === engine));
  return known(conditions, plainCondition(wanted ?? "off", "transmit"));
}

/** Keyed with the engine off: where forecasts are made, whatever was measured. */
export const offKeyed = ({ posterior }: Pick<DrawnBelief, "posterior">): Condition =>
  known(posterior.setting.conditions, plainCondition("off", "transmit"));

const known = (conditions: readonly Condition[], wanted: Condition): Condition =>
  conditions.find(
    ({ engine, radio, drawnBy, disturbed, bypassed }) =>
      engine === wanted.engine && radio === wanted.radio && drawnBy === "set" && !disturbed && bypassed.length === 0,
  ) ?? wanted;

/** Both legs together, engine off, as measured and brought to the declared transmit current. */
export function keyedDropAtDeclared(drawn: DrawnBelief): Q {
  const condition = offKeyed(drawn);
  const declared = drawn.posterior.setting.job.load.transmitAmps;
  return measured(drawn, (draw) => {
    const { amps, partDropVolts } = drawn.solved(draw, condition);
    return partDropVolts.reduce((sum, drop) => sum + drop, 0) * (declared === undefined ? 1 : declared / amps);
  });
}

export function partEntries(drawn: DrawnBelief): PartEntry[] {
  const { setting, beliefs } = drawn.posterior;
  const condition = keyedCondition(drawn);
  return setting.expected.map((part, i) => {
    const single = sumOfParts([part]);
    const faulty = beliefs.filter(({ hypothesis }) =>
      hypothesis.faults.some(
        (fault) => fault.part === i || (fault.cause === "conductor-not-as-declared" && setting.isWire[i]),
      ),
    );
    return {
      id: part.id,
      leg: part.leg,
      expectedOhms: {
        value: single.median,
        low: single.median * Math.exp(-1.96 * single.spread),
        high: single.median * Math.exp(1.96 * single.spread),
        uncertainty: single.median * single.spread,
      },
      ohms: measured(drawn, (draw) => drawn.ohms(draw)[i]!),
      dropVolts: measured(drawn, (draw) => drawn.solved(draw, condition).partDropVolts[i]!),
      faultProbability: faulty.reduce((sum, belief) => sum + belief.probability, 0),
    };
  });
}

export function sourceEntry(drawn: DrawnBelief): RoundDiagnosis["source"] {
  const { conditions, prepared } = drawn.posterior.setting;
  const has = (engine: EngineState, radio?: RadioState) =>
    prepared.some(({ condition, reading }) => {
      const read = conditions[condition]!;
      return reading.seesSource && read.engine === engine && (radio === undefined || read.radio === radio);
    });
  const off = plainCondition("off", "transmit");
  const running = plainCondition("running", "idle");
  return {
    openCircuitVolts: has("off") ? measured(drawn, (draw) => openVolts(drawn, draw, off)) : null,
    ohms: has("off", "transmit") ? measured(drawn, (draw) => sourceOhms(drawn, draw, off)) : null,
    runningVolts: has("running")
      ? measured(drawn, (draw) => drawn.solved(draw, known(conditions, running)).batteryVolts)
      : null,
  };
}

const openVolts = (drawn: DrawnBelief, draw: Draw, condition: Condition): number =>
  drawn.solved(draw, known(drawn.posterior.setting.conditions, condition)).sourceVolts;
const sourceOhms = (drawn: DrawnBelief, draw: Draw, condition: Condition): number =>
  drawn.solved(draw, known(drawn.posterior.setting.conditions, condition)).sourceOhms;
