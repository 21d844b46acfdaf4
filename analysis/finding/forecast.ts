/**
 * What the load will get: in the worst case, and after each repair (method.md section 8).
 */
import type { Cause, Q, RoundDiagnosis } from "../diagnosis.ts";
import { type CircuitSolution, solveCircuit } from "../inference/circuit.ts";
import type { Draw } from "../inference/draw.ts";
import * as prior from "../inference/prior.ts";
import { seededNormal } from "../inference/seeded-normal.ts";
import { expectedTransmitAmps } from "../inference/transmit-amps.ts";
import type { Job } from "../job/job.ts";
import { partsOf } from "../job/route.ts";
import { assumedAmbientCelsius, expectedParts } from "../loop/expected-part.ts";
import { awgField, rewired, smallestConductor } from "../loop/smallest-conductor.ts";
import { resistivityAt } from "../loop/wire.ts";
import type { Candidate } from "./candidate.ts";
import { type DrawnBelief, offKeyed, summary } from "./figures.ts";

/** Half charged lead-acid at rest: BCI-type table (`voltage-limits.md` section 2); below it the battery itself is the finding. */
const lowLeadVolts = 12.24;
/** Lithium near its end, before the protection switch opens; from memory. */
const lowLithiumVolts = 12.8;
/** A cable in a closed engine space or under a deck in summer; common practice. */
const hotCelsius = 60;

/**
 * What else hangs on the battery with the engine off, and what it has not recovered from since it was last loaded: a weak
 * one is pulled down by that before the set is keyed; from memory.
 */
const standingAmps: prior.LogNormal = { median: 1.2, spread: 1 };

/** The load's volts with the engine off, a low battery, hot wires and the full transmit current. */
export function worstCase(drawn: DrawnBelief): RoundDiagnosis["worstCase"] {
  const { job } = drawn.posterior.setting;
  const converter = job.source.kind === "converter";
  const lowVolts = job.battery.type === "lithium" ? lowLithiumVolts : lowLeadVolts;
  const loadVolts = summary(drawn.after.map((draw) => hardPressed(drawn, draw, converter ? null : lowVolts)));
  const { minimumVolts } = job.load;
  const marginVolts =
    minimumVolts === undefined
      ? null
      : {
          ...loadVolts,
          value: loadVolts.value - minimumVolts,
          low: loadVolts.low - minimumVolts,
          high: loadVolts.high - minimumVolts,
        };
  const source = converter ? "converter at its output as found" : `battery at ${lowVolts} V at rest or lower as found`;
  return {
    loadVolts,
    marginVolts,
    conditions: `engine off, ${source}, wires at ${hotCelsius} °C, full transmit current`,
  };
}

function hardPressed(drawn: DrawnBelief, draw: Draw, lowVolts: number | null): number {
  const { setting } = drawn.posterior;
  const found = drawn.solved(draw, offKeyed(drawn));
  const partOhms = draw.belief.model.partOhms(draw.values, false);
  const ambientCelsius = setting.job.ambientCelsius ?? assumedAmbientCelsius;
  partsOf(setting.job).forEach((part, i) => {
    if (part.part !== "wire") return;
    const metal = part.material ?? "copper";
    partOhms[i]! *= resistivityAt(metal, hotCelsius) / resistivityAt(metal, ambientCelsius);
  });
  return solveCircuit({
    partOhms,
    loadShare: new Float64Array(partOhms.length).fill(1),
    otherAmps: new Float64Array(partOhms.length),
    sourceVolts: lowVolts === null ? found.sourceVolts : Math.min(found.sourceVolts, lowVolts),
    sourceOhms: found.sourceOhms,
    load: { amps: Math.max(found.amps, expectedTransmitAmps(setting.job)), referenceVolts: 12, exponent: 0 },
  }).loadVolts;
}

/**
 * The load's volts keyed, engine off, once the candidate is mended, at this round's battery and other loads.
 * @returns null where no reading tells of the source with the engine off
 */
export function loadVoltsAfterRepair(drawn: DrawnBelief, candidate: Candidate): Q {
  if (!offSourceRead(drawn)) return null;
  const with_ = drawn.after.filter((draw) => candidate.beliefs.includes(draw.belief));
  if (with_.length < 20) return null;
  if (candidate.cause === "undersized-run") return rewiredLoadVolts(drawn, with_);
  const mendedSpread = spreadOfMended(drawn.posterior.setting.job, candidate.cause);
  const later = laterKeying();
  return summary(
    with_.map((draw) => {
      const { model, hypothesis } = draw.belief;
      const mended = hypothesis.faults.flatMap((fault, index) => (candidate.matches(fault) ? [index] : []));
      const solution = model.solveMended(draw.values, offKeyed(drawn), mended);
      return solution.loadVolts + mendedSpread(solution, drawn.solved(draw, offKeyed(drawn))) + later(solution);
    }),
  );
}

/**
 * Volts by which a mended battery or set differs from the middle of its kind, which is what it is taken to be; seeded.
 * Every other cause leaves the source and the load as they are.
 */
function spreadOfMended(job: Job, cause: Cause): (mended: CircuitSolution, faulty: CircuitSolution) => number {
  const normal = seededNormal(mendedSeed);
  switch (cause) {
    case "low-charge": {
      const { mean, below, above } = job.battery.type === "lithium" ? prior.restedLithiumVolts : prior.restedLeadVolts;
      return () => {
        const z = normal();
        return mean + (z < 0 ? below : above) * z - prior.restedLeadVolts.mean;
      };
    }
    case "weak-battery": {
      const { median, spread } = prior.soundSourceOhms;
      return ({ amps, sourceOhms }, faulty) => {
        const restored =
          (faulty.sourceOhms - sourceOhms) * standingAmps.median * Math.exp(standingAmps.spread * normal());
        return restored - amps * median * Math.expm1(spread * normal());
      };
    }
    case "excess-load-current":
      return ({ sourceVolts, loadVolts }) => -(sourceVolts - loadVolts) * Math.expm1(prior.transmitSpread * normal());
    default:
      return () => 0;
  }
}

/** Whoever holds a reading against the forecast keys once more: by then the battery has moved on; seeded. */
function laterKeying(): (solution: CircuitSolution) => number {
  const normal = seededNormal(laterSeed);
  return ({ amps, sourceOhms }) => {
    const sagging = prior.momentSagShare * Math.max(amps * sourceOhms - prior.soundSagVolts, 0);
    return Math.hypot(prior.momentVolts.off, sagging) * normal();
  };
}

const mendedSeed = 12;
const laterSeed = 13;

/** What a run too light for its load gives once it has the smallest conductor that keeps the limit; null where none does. */
function rewiredLoadVolts(drawn: DrawnBelief, draws: readonly Draw[]): Q {
  const { job, expected, isWire } = drawn.posterior.setting;
  const size = smallestConductor(job);
  const usesGauges = partsOf(job).some((part) => part.part === "wire" && part.awg !== undefined);
  const sizes = [
    size?.awg ? { awg: awgField(size.awg) } : null,
    size?.squareMillimetres ? { squareMillimetres: size.squareMillimetres } : null,
  ];
  const chosen = usesGauges ? (sizes[0] ?? sizes[1]) : (sizes[1] ?? sizes[0]);
  if (!chosen) return null;
  const heavier = expectedParts(rewired(job, chosen));
  const later = laterKeying();
  return summary(
    draws.map(({ belief, values }) => {
      const rewiredValues = values.slice();
      // A part's unknown is its own ohms; what is odd about this vehicle's lengths stays with its new wires.
      isWire.forEach((is, part) => {
        if (is) rewiredValues[part]! *= heavier[part]!.ohms / expected[part]!.ohms;
      });
      const solution = belief.model.solve(rewiredValues, offKeyed(drawn));
      return solution.loadVolts + later(solution);
    }),
  );
}

const offSourceRead = ({ posterior }: DrawnBelief): boolean =>
  posterior.setting.prepared.some(({ reading }) => reading.seesSource && reading.engine === "off");
