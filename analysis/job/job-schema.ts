/**
 * The shape of a job as `formats.md` section 1 fixes it, field by field with its range.
 * What one field says of another (points that exist, probes that differ) is checked in cross-checks.ts.
 */
import * as v from "valibot";
import { MeterSchema } from "./meter.ts";
import { connectionStyles, fuseStyles } from "./part-styles.ts";

/**
 * How much of each a job may hold: far above any real install, so that absurd input is refused within moments
 * and the largest job that is taken is diagnosed within seconds (a loop of 100 entries in about ten).
 */
export const jobLimits = { loopItems: 100, meters: 200, recordings: 200, readings: 2000, rounds: 50 } as const;

const text = v.string();
const name = v.pipe(v.string(), v.minLength(1), v.maxLength(200));
const finite = v.pipe(v.number(), v.finite());
const positive = v.pipe(v.number(), v.finite(), v.gtValue(0));
const notNegative = v.pipe(v.number(), v.finite(), v.minValue(0));

const partBase = {
  id: name,
  label: v.optional(text),
  /** overrides what the program would expect of the part */
  ohms: v.optional(v.pipe(notNegative, v.maxValue(1000))),
  /** a factor: 1.5 means from two thirds of `ohms` to one and a half times */
  ohmsTolerance: v.optional(v.pipe(finite, v.minValue(1), v.maxValue(100))),
};

const PointSchema = v.looseObject({ point: name, reach: v.optional(v.picklist(["easy", "hard", "no"])) });

const ConnectionSchema = v.looseObject({
  ...partBase,
  part: v.literal("connection"),
  style: v.picklist(connectionStyles),
});

const FuseSchema = v.looseObject({
  ...partBase,
  part: v.literal("fuse"),
  style: v.picklist(fuseStyles),
  ratingAmps: v.optional(v.pipe(positive, v.maxValue(10_000))),
  metresFromBattery: v.optional(v.pipe(notNegative, v.maxValue(1000))),
});

const WireSchema = v.looseObject({
  ...partBase,
  part: v.literal("wire"),
  /** a number; 0, -1, -2, -3 or '1/0' to '4/0' for the large sizes */
  awg: v.optional(v.union([v.pipe(finite, v.minValue(-3), v.maxValue(40)), v.picklist(["1/0", "2/0", "3/0", "4/0"])])),
  squareMillimetres: v.optional(v.pipe(positive, v.maxValue(1000))),
  metres: v.pipe(positive, v.maxValue(1000)),
  material: v.optional(v.picklist(["copper", "copper-clad-aluminium", "aluminium"])),
  strands: v.optional(v.pipe(positive, v.maxValue(100_000))),
  insulationCelsius: v.optional(v.pipe(positive, v.maxValue(1000))),
  sheathed: v.optional(v.boolean()),
  engineSpace: v.optional(v.boolean()),
  bundledWith: v.optional(v.pipe(notNegative, v.maxValue(1000))),
  unknown: v.optional(v.array(v.picklist(["size", "length"]))),
  gaugeSystem: v.optional(v.picklist(["awg", "sae"])),
});

const SwitchSchema = v.looseObject({ ...partBase, part: v.literal("switch") });
const ChassisSchema = v.looseObject({ ...partBase, part: v.literal("chassis") });
const LoadPartSchema = v.looseObject({ part: v.literal("load"), id: v.optional(name), label: v.optional(text) });

export type Point = v.InferOutput<typeof PointSchema>;
export type Connection = v.InferOutput<typeof ConnectionSchema>;
export type Fuse = v.InferOutput<typeof FuseSchema>;
export type Wire = v.InferOutput<typeof WireSchema>;
export type Switch = v.InferOutput<typeof SwitchSchema>;
export type Chassis = v.InferOutput<typeof ChassisSchema>;
export type LoadPart = v.InferOutput<typeof LoadPartSchema>;
/** What the current passes through, the load aside. */
export type Part = Connection | Fuse | Wire | Switch | Chassis;
export type LoopItem = Point | Part | LoadPart;

export const PartSchema = v.variant("part", [
  ConnectionSchema,
  FuseSchema,
  WireSchema,
  SwitchSchema,
  ChassisSchema,
  LoadPartSchema,
]);

/** Chosen by what the item calls itself, so that an error speaks of a point or of a part, not of both. */
const LoopItemSchema = v.lazy((item) =>
  typeof item === "object" && item !== null && "point" in item ? PointSchema : PartSchema,
);

export const engineStates = ["off", "running"] as const;
export const radioStates = ["idle", "transmit", "off"] as const;
export type EngineState = (typeof engineStates)[number];
export type RadioState = (typeof radioStates)[number];

const measuredWhere = {
  round: name,
  meter: v.optional(name),
  from: v.optional(name),
  to: v.optional(name),
  through: v.optional(name),
  engine: v.optional(v.picklist(engineStates)),
  radio: v.optional(v.picklist(radioStates)),
  drawnBy: v.optional(v.picklist(["set", "test-load"])),
  rfInto: v.optional(v.picklist(["dummy-load", "antenna"])),
  keyedSeconds: v.optional(notNegative),
  takenAt: v.optional(text),
  restedHours: v.optional(notNegative),
  bypassed: v.optional(v.array(name)),
};

export const RecordingSchema = v.looseObject({
  ...measuredWhere,
  file: name,
  quantity: v.picklist(["volts", "amps"]),
  sha256: v.optional(text),
  /** header text or number from 1 */
  column: v.optional(v.union([name, v.pipe(v.number(), v.integer(), v.minValue(1))])),
  timeColumn: v.optional(v.union([name, v.pipe(v.number(), v.integer(), v.minValue(1))])),
  interval: v.optional(positive),
  startTime: v.optional(text),
  delimiter: v.optional(text),
  decimal: v.optional(v.picklist([".", ","])),
  dayFirst: v.optional(v.boolean()),
  unit: v.optional(text),
  concurrent: v.optional(v.boolean()),
  marks: v.optional(v.array(v.looseObject({ seconds: finite, label: text }))),
});
export type Recording = v.InferOutput<typeof RecordingSchema>;

export const TypedReadingSchema = v.looseObject({
  ...measuredWhere,
  volts: v.optional(v.pipe(finite, v.minValue(-1000), v.maxValue(1000))),
  amps: v.optional(v.pipe(finite, v.minValue(-10_000), v.maxValue(10_000))),
  /** AC volts at the same points, engine running: reported, not yet a cause */
  rippleVolts: v.optional(notNegative),
  held: v.optional(v.picklist(["lowest", "highest"])),
  /** taken from a live meter: the log that was taken along, which speaks for it where it can */
  log: v.optional(text),
});
export type TypedReading = v.InferOutput<typeof TypedReadingSchema>;

const LoadSchema = v.looseObject({
  label: v.optional(text),
  idleAmps: v.optional(v.pipe(notNegative, v.maxValue(10_000))),
  transmitAmps: v.optional(v.pipe(positive, v.maxValue(10_000))),
  standbyAmps: v.optional(v.pipe(notNegative, v.maxValue(10_000))),
  minimumVolts: v.optional(v.pipe(positive, v.maxValue(100))),
  ratedVolts: v.optional(v.pipe(positive, v.maxValue(100))),
  fedFrom: v.optional(v.picklist(["constant", "switched"])),
  fusedLegs: v.optional(v.picklist(["supply", "both"])),
  emission: v.optional(v.picklist(["fm", "ssb", "cw", "time-slotted"])),
});

const RoundSchema = v.looseObject({
  round: name,
  date: v.optional(text),
  note: v.optional(text),
  changed: v.optional(v.array(v.looseObject({ id: name }))),
  done: v.optional(v.array(text)),
  checks: v.optional(v.record(v.string(), v.boolean())),
  photos: v.optional(v.array(v.union([text, v.looseObject({ file: text, caption: v.optional(text) })]))),
});
export type Round = v.InferOutput<typeof RoundSchema>;

/** Written on the glass: strokes of x and y by turns, on a field of 600 by 200; `over` pins what was signed. */
const SignatureSchema = v.looseObject({
  by: v.picklist(["technician", "customer"]),
  name: v.optional(text),
  date: v.optional(text),
  strokes: v.pipe(
    v.array(v.pipe(v.array(v.pipe(finite, v.minValue(0), v.maxValue(600))), v.maxLength(10_000))),
    v.maxLength(500),
  ),
  over: v.optional(text),
});
export type Signature = v.InferOutput<typeof SignatureSchema>;

export const JobSchema = v.looseObject({
  format: v.literal("job/1"),
  title: v.optional(text, ""),
  customer: v.optional(text),
  vehicle: v.optional(text),
  vehicleId: v.optional(text),
  technician: v.optional(text),
  notes: v.optional(text),
  recheckDue: v.optional(text),
  setting: v.optional(v.picklist(["vehicle", "boat"])),
  rules: v.optional(text),
  ambientCelsius: v.optional(v.pipe(finite, v.minValue(-60), v.maxValue(120))),
  load: v.optional(LoadSchema, {}),
  limits: v.optional(
    v.looseObject({
      totalDropVolts: v.optional(v.pipe(positive, v.maxValue(24))),
      totalDropPercent: v.optional(v.pipe(positive, v.maxValue(100))),
    }),
    {},
  ),
  battery: v.optional(
    v.looseObject({
      type: v.optional(v.picklist(["flooded", "agm", "gel", "lithium"])),
      ampereHours: v.optional(v.pipe(positive, v.maxValue(100_000))),
    }),
    {},
  ),
  source: v.optional(
    v.looseObject({
      kind: v.optional(v.picklist(["battery", "isolated-battery", "converter"])),
      limitAmps: v.optional(positive),
      charging: v.optional(v.picklist(["regulated", "variable"])),
    }),
    {},
  ),
  loop: v.pipe(v.array(LoopItemSchema), v.maxLength(jobLimits.loopItems)),
  meters: v.optional(v.pipe(v.array(MeterSchema), v.maxLength(jobLimits.meters)), []),
  recordings: v.optional(v.pipe(v.array(RecordingSchema), v.maxLength(jobLimits.recordings)), []),
  readings: v.optional(v.pipe(v.array(TypedReadingSchema), v.maxLength(jobLimits.readings)), []),
  rounds: v.optional(v.pipe(v.array(RoundSchema), v.maxLength(jobLimits.rounds)), []),
  signatures: v.optional(v.pipe(v.array(SignatureSchema), v.maxLength(10))),
});
export type Job = v.InferOutput<typeof JobSchema>;
