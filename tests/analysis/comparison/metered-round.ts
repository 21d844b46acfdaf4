/**
 * Rounds of typed readings with a known truth: a battery, a loop and a set by bare Ohm's law, then a meter that is off
 * by a known share. All figures are invented.
 */
import { diagnoseInFull, type FullDiagnosis } from "../../../analysis/diagnose.ts";
import type { Job, TypedReading } from "../../../analysis/job/job.ts";
import { roundsOf } from "../../../analysis/job/round.ts";
import { believeRound } from "../../../analysis/round-belief.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";

/** Ohms of every part of `declaredJob`, each near a sound one of its kind. */
export const soundOhms = {
  "battery-lug": 0.0003,
  "main-fuse": 0.0055,
  feed: 0.0152,
  "plug-positive": 0.001,
  "plug-negative": 0.001,
  "ground-lead": 0.002,
  "ground-stud": 0.0006,
  body: 0.001,
  "battery-strap": 0.0006,
} as const;

export type PartOhms = { readonly [Id in keyof typeof soundOhms]: number };

export interface TrueRound {
  readonly round: string;
  readonly ohms?: Partial<PartOhms>;
  readonly restVolts?: number;
  readonly batteryOhms?: number;
  readonly transmitAmps?: number;
  /** which of the job's meters reads the volts, and by what share it shows too much */
  readonly meter?: string;
  readonly gain?: number;
  /** stretches read keyed, as [from, to]; battery and load are read idle and keyed in any case */
  readonly stretches?: readonly (readonly [string, string])[];
  readonly clamped?: boolean;
}

const idleAmps = 0.6;
/** Points of `declaredJob` in loop order, and the parts that stand before each. */
const points = ["battery+", "fuse-out", "load+", "load-", "body-at-load", "battery-"];
const partsBefore: readonly (readonly (keyof PartOhms)[])[] = [
  [],
  ["battery-lug", "main-fuse"],
  ["feed", "plug-positive"],
  [],
  ["plug-negative", "ground-lead", "ground-stud"],
  ["body", "battery-strap"],
];

/** Everything that separates: each stretch between two neighbouring points. */
export const everyStretch = [
  ["battery+", "fuse-out"],
  ["fuse-out", "load+"],
  ["load-", "body-at-load"],
  ["body-at-load", "battery-"],
] as const;

/** Volts between two points in this round, without a meter's error. */
export function trueVolts(round: TrueRound, from: string, to: string, radio: "idle" | "transmit"): number {
  const ohms = { ...soundOhms, ...round.ohms };
  const amps = radio === "idle" ? idleAmps : (round.transmitAmps ?? 11.4);
  const battery = (round.restVolts ?? 12.6) - (round.batteryOhms ?? 0.01) * amps;
  const drops = partsBefore.map((parts) => amps * parts.reduce((sum, id) => sum + ohms[id], 0));
  const loop = drops.reduce((sum, drop) => sum + drop, 0);
  // against battery −, going round: the load takes what the loop leaves
  const levels = points.map((_, at) => {
    const lost = drops.slice(0, at + 1).reduce((sum, drop) => sum + drop, 0);
    return at >= 3 ? loop - lost : battery - lost;
  });
  return levels[points.indexOf(from)]! - levels[points.indexOf(to)]!;
}

export function readingsOf(round: TrueRound): TypedReading[] {
  const { meter = "m1", gain = 0, stretches = everyStretch } = round;
  const shown = (volts: number) => Math.round(volts * (1 + gain) * 1e4) / 1e4;
  const volts = (from: string, to: string, radio: "idle" | "transmit"): TypedReading => ({
    round: round.round,
    meter,
    engine: "off",
    radio,
    from,
    to,
    volts: shown(trueVolts(round, from, to, radio)),
  });
  const clamp: TypedReading = {
    round: round.round,
    meter: "clamp",
    engine: "off",
    radio: "transmit",
    through: "feed",
    amps: Math.round((round.transmitAmps ?? 11.4) * 10) / 10,
  };
  return [
    ...(["idle", "transmit"] as const).flatMap((radio) => [
      volts("battery+", "battery-", radio),
      volts("load+", "load-", radio),
    ]),
    ...stretches.map(([from, to]) => volts(from, to, "transmit")),
    ...(round.clamped === false ? [] : [clamp]),
  ];
}

/** Stated accuracy of the two good meters, and of two that may be off by 3 %: 0.36 V at the set. */
const accurate = { percentOfReading: 0.1, counts: 2, resolution: 0.0001 };
const meters: Job["meters"] = [
  { id: "m1", volts: accurate },
  { id: "m2", volts: accurate },
  { id: "coarse", volts: { percentOfReading: 3, counts: 2, resolution: 0.0001 } },
  { id: "coarse too", volts: { percentOfReading: 3, counts: 2, resolution: 0.0001 } },
  { id: "clamp", amps: { percentOfReading: 2, counts: 5, resolution: 0.1 } },
];

export const jobOf = (rounds: readonly TrueRound[], fields: Partial<Job> = {}): Job =>
  declaredJob({ meters, readings: rounds.flatMap(readingsOf), ...fields });

const known = new Map<string, FullDiagnosis>();

/** The whole diagnosis; the same rounds are worked out once. */
export function diagnosed(rounds: readonly TrueRound[], fields: Partial<Job> = {}): FullDiagnosis {
  const key = JSON.stringify([rounds, fields]);
  const full = known.get(key) ?? diagnoseInFull("invented", jobOf(rounds, fields), []);
  known.set(key, full);
  return full;
}

/** What is believed of each round by itself, in their order. */
export const posteriorsOf = (job: Job) => roundsOf(job).map((round) => believeRound(job, round, []).posterior);

/** The joint that most of these rounds are about: 0.06 Ω, 0.68 V keyed. */
export const badStud: Partial<PartOhms> = { "ground-stud": 0.06 };

/** The loop of `declaredJob` with fields of one part replaced. */
export const loopWith = (id: string, fields: Readonly<Record<string, unknown>>): Job["loop"] =>
  declaredJob().loop.map((item) => ("part" in item && item.id === id ? ({ ...item, ...fields } as typeof item) : item));
