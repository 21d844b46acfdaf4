/**
 * The unknowns of a loop and what is believed of each before measuring; each is carried as a standard normal.
 */
import type { EngineState, Job } from "../job/job.ts";
import { partsOf } from "../job/route.ts";
import type { ExpectedPart } from "../loop/expected-part.ts";
import type { Condition } from "./condition.ts";
import type { Hypothesis } from "./hypothesis.ts";
import * as prior from "./prior.ts";
import { sharedParts } from "./shared-part.ts";
import { expectedTransmitAmps } from "./transmit-amps.ts";

/** Prior of one unknown: normal in itself, or in its logarithm. */
export interface Unknown {
  readonly logarithmic: boolean;
  readonly mean: number;
  readonly deviation: number;
  /** the deviation below the mean, where it is another */
  readonly below?: number;
  /** a contact's: from twice its deviation on it grows without bound, as one that opens does */
  readonly opens?: boolean;
  /** share of its current that is left to a set: below, it falls with the square of the deviations */
  readonly starves?: boolean;
  /** amps of other loads: mostly near the mean, and grows with the cube of the deviations */
  readonly rare?: boolean;
}

/** The unknown in its own units, from prior standard deviations. */
export function unknownValue(unknown: Unknown, z: number): number {
  const { logarithmic, mean, deviation, below } = unknown;
  const value = mean + (z < 0 ? (below ?? deviation) : deviation) * z + beyond(unknown, z);
  return logarithmic ? Math.exp(Math.min(value, 30)) : value;
}

/** How fast the unknown moves in its own units, at a point in prior standard deviations. */
export function unknownSlope(unknown: Unknown, z: number): number {
  const { logarithmic, deviation, below, opens, rare, starves } = unknown;
  const straight = z < 0 ? (below ?? deviation) : deviation;
  const opening = opens && z > prior.openingFrom ? 3 * prior.openingRate * (z - prior.openingFrom) ** 2 : 0;
  const rarely = rare ? 3 * deviation * prior.rareLoadRate * z ** 2 : 0;
  const starving = starves && z < prior.starvingFrom ? 2 * prior.starvingRate * (prior.starvingFrom - z) : 0;
  return (straight + opening + rarely + starving) * (logarithmic ? unknownValue(unknown, z) : 1);
}

function beyond({ opens, rare, starves, deviation }: Unknown, z: number): number {
  if (opens && z > prior.openingFrom) return prior.openingRate * (z - prior.openingFrom) ** 3;
  if (rare) return deviation * prior.rareLoadRate * z ** 3;
  if (starves && z < prior.starvingFrom) return -prior.starvingRate * (prior.starvingFrom - z) ** 2;
  return 0;
}

/** Where each unknown stands in the vector; −1 where the job has no use for it. Parts come first, in loop order. */
export interface UnknownPlaces {
  readonly volts: { readonly off: number; readonly running: number; readonly unknown: number };
  /** what the source has moved on by in each condition: recovery, slow sag, a regulator hunting */
  readonly drift: readonly number[];
  readonly restOhms: number;
  readonly runningOhms: number;
  readonly amps: { readonly idle: number; readonly transmit: number; readonly off: number; readonly testLoad: number };
  /** current against voltage, keyed and not */
  readonly exponent: number;
  readonly idleExponent: number;
  readonly chassisAmps: number;
  readonly busAmps: number;
  readonly busReturnOdds: number;
  /** what else bus and chassis carry with the engine running: ignition, fans, pumps */
  readonly runningAmps: number;
  /** how the other loads of bus and chassis have changed in each condition; −1 where nothing is shared */
  readonly otherAmps: readonly number[];
  readonly strapAmps: number;
  readonly strapOdds: number;
  readonly jumperOhms: number;
  /** share of its current that the load keeps, beyond its own law, while a contact has shifted */
  readonly shiftShare: number;
  /** the fault's own unknown, one a fault of the hypothesis; −1 where it only shifts another's prior */
  readonly fault: readonly number[];
}

export interface Unknowns {
  readonly list: readonly Unknown[];
  readonly places: UnknownPlaces;
}

const normal = ({ mean, deviation }: prior.Normal): Unknown => ({ logarithmic: false, mean, deviation });
const rarely = (amps: prior.Normal): Unknown => ({ ...normal(amps), rare: true });
const twoPiece = ({ mean, below, above }: prior.TwoPiece): Unknown => ({
  logarithmic: false,
  mean,
  deviation: above,
  below,
});
const logNormal = ({ median, spread, below }: prior.LogNormal): Unknown => ({
  logarithmic: true,
  mean: Math.log(median),
  deviation: spread,
  ...(below === undefined ? {} : { below }),
});

/** What no reading says, and what is taken one way or the other: every way is fitted on its own. */
export interface Guess {
  /** what the engine is taken to have done in readings that do not say; null: nothing hangs on it */
  readonly engine: EngineState | null;
  /**
   * Where the engine's block is bonded. To the battery alone: the charging current stays out of what lies behind the
   * chassis, and the load's current passes all of it; to the body: the two share it.
   */
  readonly bond: "battery" | "body";
}

export const plainGuess: Guess = { engine: null, bond: "body" };

/**
 * @param conditions those that readings were taken in, and those that will be asked about
 */
export function unknownsOf(
  job: Job,
  expected: readonly ExpectedPart[],
  conditions: readonly Condition[],
  hypothesis: Hypothesis,
  guess: Guess = plainGuess,
): Unknowns {
  const list: Unknown[] = expected.map((part) => logNormal({ median: part.ohms, spread: part.spread }));
  const add = (unknown: Unknown) => list.push(unknown) - 1;
  const addIf = (wanted: boolean, unknown: Unknown) => (wanted ? add(unknown) : -1);
  const has = (test: (condition: Condition) => boolean) => conditions.some(test);
  const hasFault = (cause: string) => hypothesis.faults.some((fault) => fault.cause === cause);
  const transmitAmps = expectedTransmitAmps(job);
  const chassis = partsOf(job).some((part) => part.part === "chassis");
  const hasBus = sharedParts(job).length > 0;
  const running = has(({ engine }) => engine === "running");
  const rest = sourceOhms(job, hasFault("weak-battery"));

  const places: UnknownPlaces = {
    volts: {
      off: addIf(
        has(({ engine }) => engine === "off"),
        twoPiece(offVolts(job, hasFault("low-charge"))),
      ),
      running: addIf(running, twoPiece(runningVolts(job, hasFault))),
      unknown: addIf(
        has(({ engine }) => engine === null),
        guessedVolts(job, hasFault, guess.engine),
      ),
    },
    drift: conditions.map(({ engine }) => add(normal({ mean: 0, deviation: prior.driftVolts[engine ?? "off"] }))),
    restOhms: add(logNormal(rest)),
    runningOhms: addIf(
      running,
      logNormal(hasFault("no-charging") ? prior.notChargingOhmsShare : prior.runningSourceOhms),
    ),
    amps: {
      idle: addIf(
        has(({ radio, drawnBy }) => radio === "idle" && drawnBy === "set"),
        logNormal(idleAmps(job)),
      ),
      transmit: add(logNormal(transmitPrior(job, hasFault("excess-load-current")))),
      off: addIf(
        has(({ radio }) => radio === "off"),
        logNormal(prior.standbyAmps),
      ),
      testLoad: addIf(
        has(({ drawnBy }) => drawnBy === "test-load"),
        logNormal(prior.testLoadAmps),
      ),
    },
    exponent: add(normal(prior.loadExponent)),
    idleExponent: addIf(
      has(({ radio, drawnBy }) => radio === "idle" && drawnBy === "set"),
      normal(prior.loadExponent),
    ),
    chassisAmps: addIf(chassis, rarely(prior.chassisOtherAmps)),
    busAmps: addIf(hasBus, rarely(prior.busOtherAmps)),
    busReturnOdds: addIf(hasBus, logNormal(prior.busReturnOdds)),
    runningAmps: addIf((hasBus || chassis) && running, rarely(prior.runningOtherAmps)),
    otherAmps: conditions.map(() => addIf(hasBus || chassis, rarely({ mean: 0, deviation: prior.otherAmpsChange }))),
    strapAmps: addIf(
      chassis && running,
      rarely(guess.bond === "body" ? prior.chassisOtherAmpsRunning : prior.chassisOtherAmps),
    ),
    strapOdds: addIf(chassis && running, logNormal(prior.strapOdds)),
    jumperOhms: addIf(
      has(({ bypassed }) => bypassed.length > 0),
      logNormal(prior.jumperOhms),
    ),
    shiftShare: addIf(
      has(({ disturbed }) => disturbed),
      { ...logNormal(prior.shiftShare), starves: true },
    ),
    fault: hypothesis.faults.map(({ cause }) => {
      const own = faultUnknown(cause, transmitAmps);
      return own === null ? -1 : add(own);
    }),
  };
  return { list, places };
}

function faultUnknown(cause: string, transmitAmps: number): Unknown | null {
  const excessOhms = (volts: prior.LogNormal) => logNormal({ ...volts, median: volts.median / transmitAmps });
  switch (cause) {
    case "high-resistance-connection":
      return excessOhms(prior.jointExcessVolts);
    case "intermittent-connection":
      return { ...excessOhms(prior.shiftExcessVolts), opens: true };
    case "conductor-not-as-declared":
      return logNormal(prior.conductorExcess);
    case "stray-return":
      return logNormal(prior.strayOdds);
    default:
      return null;
  }
}

function guessedVolts(job: Job, hasFault: (cause: string) => boolean, guess: EngineState | null): Unknown {
  if (guess === "off") return twoPiece(offVolts(job, hasFault("low-charge")));
  const charging = guess === "running" && !hasFault("no-charging");
  return charging ? twoPiece(runningVolts(job, hasFault)) : normal(prior.unknownEngineVolts);
}

function offVolts(job: Job, low: boolean): prior.TwoPiece {
  if (job.source.kind === "converter") return prior.converterVolts;
  if (job.battery.type === "lithium") return low ? prior.lowLithiumVolts : prior.restedLithiumVolts;
  const volts = low ? prior.lowLeadVolts : prior.restedLeadVolts;
  const widen = job.battery.type === undefined && !low ? prior.undeclaredWiden : 1;
  return { ...volts, above: Math.hypot(volts.above * widen, justRun(job) ? prior.surfaceVolts : 0) };
}

/** Whether the battery is said not to have rested long enough for its volts to tell its charge. */
const justRun = ({ readings }: Job): boolean =>
  readings.some(({ restedHours }) => restedHours !== undefined && restedHours < prior.surfaceHours);

/** With a dead charging system: over the battery's own. */
function runningVolts(job: Job, hasFault: (cause: string) => boolean): prior.TwoPiece {
  if (hasFault("no-charging"))
    return hasFault("low-charge") ? prior.notChargingLowLiftVolts : prior.notChargingLiftVolts;
  if (hasFault("overcharging")) return prior.overchargingVolts;
  if (job.source.kind === "converter") return prior.converterVolts;
  return variesCharging(job) ? prior.variableChargingVolts : prior.chargingVolts;
}

/** Charging that may run low on purpose: declared so, or of a battery behind an isolator. */
export const variesCharging = ({ source }: Job): boolean =>
  source.charging === "variable" || source.kind === "isolated-battery";

function sourceOhms(job: Job, weak: boolean): prior.LogNormal {
  if (weak) return prior.weakSourceOhms;
  return job.source.kind === "converter" ? prior.runningSourceOhms : prior.soundSourceOhms;
}

function transmitPrior(job: Job, excess: boolean): prior.LogNormal {
  const { transmitAmps: declared, emission = "fm" } = job.load;
  if (declared === undefined) return prior.unknownTransmitAmps;
  const own: prior.LogNormal = excess ? prior.excessCurrentFactor : { median: 1, spread: prior.transmitSpread };
  const shown = emission === "fm" ? { median: 1, spread: 0 } : prior.emissionShare[emission];
  return {
    median: declared * own.median * shown.median,
    spread: Math.hypot(own.spread, shown.spread),
    below: Math.hypot(own.below ?? own.spread, shown.spread),
  };
}

function idleAmps(job: Job): prior.LogNormal {
  const declared = job.load.idleAmps;
  return declared ? { median: declared, spread: prior.idleSpread } : prior.unknownIdleAmps;
}
