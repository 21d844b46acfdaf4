/**
 * A dead short at the load: how much current flows, whether the fuse can break it, and whether it opens before the
 * wire's insulation is hurt.
 */
import type { Fuse, Job } from "../../job/job.ts";
import { assumedAmbientCelsius, expectedParts } from "../../loop/expected-part.ts";
import { wireSquareMillimetres } from "../../loop/wire.ts";
import type { Amps, Celsius, Ohms, Volts } from "../../units.ts";
import { adiabaticSeconds } from "./adiabatic-limit.ts";
import { ampacityTable, insulationClasses, wireAmpacity } from "./ampacity.ts";
import { type ProtectionCheck, rangeWords, show, warnOnly } from "./check.ts";
import { fuseBands, longestOpeningSeconds } from "./fuse-band.ts";
import { fusesOf, type ProtectedWire, protectedWires } from "./protected-wire.ts";

export interface MeasuredSource {
  readonly openCircuitVolts: Volts;
  readonly ohms: Ohms;
  /** 95 % interval of the ohms; left out where they are known well */
  readonly lowOhms?: Ohms;
  readonly highOhms?: Ohms;
}

/** A healthy battery where none was measured: 12.6 V behind 3 to 25 mΩ; from memory (`voltage-limits.md` section 2). */
const supposedSources: readonly MeasuredSource[] = [
  { openCircuitVolts: 12.6, ohms: 3e-3 },
  { openCircuitVolts: 12.6, ohms: 25e-3 },
];
/** Insulation that is not declared: the class that stands a short circuit least of those in use, hottest at the start. */
const poorestStart: Celsius = 105;

interface Fault {
  /** a short right behind the fuse, keyed by fuse id */
  readonly atFuseAmps: ReadonlyMap<string, Amps>;
  /** a short between the load's terminals */
  readonly atLoadAmps: Amps;
}

export function shortCircuitChecks(job: Job, measured: MeasuredSource | null): ProtectionCheck[] {
  if (job.source.kind === "converter" && job.source.limitAmps === undefined) return [unlimitedConverter(job)];
  const faults = sourcesOf(measured).map((source) => faultCurrents(job, source));
  const battery = job.source.kind !== "converter";
  const basis = measured === null && battery ? "; battery not measured, 3 to 25 mΩ supposed, from memory" : "";
  return [
    ...fusesOf(job, "supply").flatMap((fuse) => breakingChecks(fuse, faults, basis)),
    ...protectedWires(job)
      .filter(({ fuses }) => fuses.length > 0)
      .map((item) => openingCheck(job, item, faults, basis)),
  ];
}

/** A battery that few readings tell of is both as stiff and as weak as they allow. */
function sourcesOf(measured: MeasuredSource | null): readonly MeasuredSource[] {
  if (measured === null) return supposedSources;
  const { openCircuitVolts, ohms, lowOhms = ohms, highOhms = ohms } = measured;
  return [...new Set([lowOhms, ohms, highOhms])].map((each) => ({ openCircuitVolts, ohms: each }));
}

function unlimitedConverter(job: Job): ProtectionCheck {
  return {
    part: protectedWires(job)[0]?.wire.id ?? "",
    check: "short at the load opens the fuse before the wire is hurt",
    pass: null,
    detail: "what the converter gives into a short should be declared to tell (its limit stands on its sheet)",
    source: "a converter limits its current, and may give too little to open a fuse",
  };
}

/**
 * Currents of two dead shorts, the whole loop at its expected ohms and cold.
 * @example 12.6 V, 10 mΩ and a loop of 32 mΩ: 300 A at the load
 */
export function faultCurrents(job: Job, source: MeasuredSource): Fault {
  const limit = job.source.limitAmps ?? Number.POSITIVE_INFINITY;
  const current = (ohms: Ohms) => Math.min(source.openCircuitVolts / (source.ohms + ohms), limit);
  const atFuseAmps = new Map<string, Amps>();
  let ohms = 0;
  for (const part of expectedParts(job)) {
    ohms += part.ohms;
    if (part.kind === "fuse") atFuseAmps.set(part.id, current(ohms));
  }
  return { atFuseAmps, atLoadAmps: current(ohms) };
}

/**
 * At the load, as asked of a finished install, and right behind the fuse, where a short draws most. The source is what
 * the battery sags by over seconds and the joints are as expected: near the limit this cannot fail anybody.
 */
function breakingChecks(fuse: Fuse, faults: readonly Fault[], basis: string): ProtectionCheck[] {
  const { breakingAmps, breakingSource } = fuseBands[fuse.style];
  const against = (where: string, amps: readonly Amps[]): ProtectionCheck => ({
    part: fuse.id,
    check: `short ${where} against the fuse's interrupting rating`,
    pass: breakingAmps === null ? null : warnOnly(Math.max(...amps) <= breakingAmps),
    detail: `it draws ${spanWords(amps)} A; the fuse breaks ${breakingAmps === null ? "an unknown current (see its sheet)" : `${breakingAmps} A`}${basis}`,
    source: breakingSource,
  });
  return [
    against(
      "at the load",
      faults.map(({ atLoadAmps }) => atLoadAmps),
    ),
    against(
      "right behind it",
      faults.map(({ atFuseAmps }) => atFuseAmps.get(fuse.id)!),
    ),
  ].slice(0, breakingAmps === null ? 1 : 2);
}

function openingCheck(job: Job, item: ProtectedWire, faults: readonly Fault[], basis: string): ProtectionCheck {
  const outcomes = faults.map(({ atLoadAmps }) => shortAtLoad(job, item, atLoadAmps));
  const passes = outcomes.map(({ pass }) => pass);
  const worst = outcomes.find(({ pass }) => pass !== true) ?? outcomes[0]!;
  const agreed = passes.every((pass) => pass === passes[0]) ? passes[0]! : null;
  return {
    part: item.wire.id,
    check: "short at the load opens the fuse before the wire is hurt",
    // a battery that is supposed fails nobody
    pass: basis === "" ? agreed : warnOnly(agreed),
    detail: `${spanWords(faults.map(({ atLoadAmps }) => atLoadAmps))} A; ${worst.words}${basis}`,
    source: worst.source,
  };
}

interface Outcome {
  readonly pass: boolean | null;
  readonly words: string;
  readonly source: string;
}

function shortAtLoad(job: Job, { wire, fuses }: ProtectedWire, amps: Amps): Outcome {
  const { lowAmps, highAmps } = wireAmpacity(wire, job.ambientCelsius ?? assumedAmbientCelsius);
  if (amps <= lowAmps)
    return { pass: true, words: `the wire carries it for ever (${show(lowAmps)} A)`, source: ampacityTable };
  const source = `${fuseBands[fuses[0]!.style].bandSource}; adiabatic limit of IEC 60949, from memory`;
  const rated = fuses.filter((fuse) => fuse.ratingAmps !== undefined);
  if (rated.length === 0) return { pass: null, words: "the fuse's rating should be declared to tell", source };
  if (amps > highAmps && rated.length === fuses.length && rated.every(({ ratingAmps }) => amps <= ratingAmps!)) {
    const words = `no fuse ever opens, and the wire carries ${show(highAmps)} A at most`;
    return { pass: false, words, source: ampacityTable };
  }
  const opens = Math.min(...rated.map(({ style, ratingAmps }) => longestOpeningSeconds(style, ratingAmps!, amps)));
  const insulation = Math.max(wire.insulationCelsius ?? poorestStart, insulationClasses[0]!);
  const stands = adiabaticSeconds(wire.material ?? "copper", wireSquareMillimetres(wire), insulation, amps);
  const standing = `the wire stands it ${show(stands)} s`;
  return {
    pass: warnOnly(opens <= stands),
    words: Number.isFinite(opens)
      ? `the fuse opens within ${show(opens)} s, ${standing}; both from memory`
      : `${neverWords(rated)}; ${standing}, from memory`,
    source,
  };
}

/** Why no time can be named: its makers' sheets are not known here, or it is overloaded too little to open surely. */
const neverWords = (fuses: readonly Fuse[]): string =>
  fuses.some(({ style }) => fuseBands[style].band.length === 0)
    ? "how soon the fuse opens stands on its sheet"
    : "that is too little to open the fuse surely";

const spanWords = (amps: readonly Amps[]): string => rangeWords(Math.min(...amps), Math.max(...amps));
