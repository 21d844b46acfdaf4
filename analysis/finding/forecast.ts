/**
 * What the load will get: in the worst case, and after each repair (method.md section 8).
 */
import type { Q, RoundDiagnosis } from "../diagnosis.ts";
import { solveCircuit } from "../inference/circuit.ts";
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
  const battery = soundBatteries(drawn.posterior.setting.job);
  return summary(
    with_.map((draw) => {
      const { model, hypothesis } = draw.belief;
      const mended = hypothesis.faults.flatMap((fault, index) => (candidate.matches(fault) ? [index] : []));
      const { loadVolts, amps } = model.solveMended(draw.values, offKeyed(drawn), mended);
      const { moreVolts, moreOhms } = battery();
      if (candidate.cause === "low-charge") return loadVolts + moreVolts;
      return candidate.cause === "weak-battery" ? loadVolts - amps * moreOhms : loadVolts;
    }),
  );
}

/** How far sound batteries lie from the middle of their kind, which is what a mended one is taken to be; seeded. */
function soundBatteries(job: Job): () => { moreVolts: number; moreOhms: number } {
  const normal = seededNormal(batterySeed);
  const middleVolts = prior.restedLeadVolts.mean;
  const { mean, deviation } = job.battery.type === "lithium" ? prior.restedLithiumVolts : prior.restedLeadVolts;
  const { median, spread } = prior.soundSourceOhms;
  return () => ({
    moreVolts: mean + deviation * normal() - middleVolts,
    moreOhms: median * Math.expm1(spread * normal()),
  });
}

const batterySeed = 12;

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
  return summary(
    draws.map(({ belief, values }) => {
      const rewiredValues = values.slice();
      // A part's unknown is its own ohms; what is odd about this vehicle's lengths stays with its new wires.
      isWire.forEach((is, part) => {
        if (is) rewiredValues[part]! *= heavier[part]!.ohms / expected[part]!.ohms;
      });
      return belief.model.solve(rewiredValues, offKeyed(drawn)).loadVolts;
    }),
  );
}

const offSourceRead = ({ posterior }: DrawnBelief): boolean =>
  posterior.setting.prepared.some(({ reading }) => reading.seesSource && reading.engine === "off");
