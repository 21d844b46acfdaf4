/** The diagnosis of `formats.md` section 2 as a schema: what describes it to clients, and what a test holds it against. */
import * as v from "valibot";
import { causes } from "./diagnosis.ts";
import { engineStates } from "./job/job-schema.ts";

const number = v.pipe(v.number(), v.finite());
const orNull = <Schema extends v.GenericSchema>(schema: Schema) => v.nullable(schema);
const engine = v.picklist(engineStates);
const radio = v.picklist(["idle", "transmit", "off"]);
const words = v.array(v.string());

/** best value, 95 % interval, standard uncertainty; null where it cannot be had from the data */
const Q = orNull(v.looseObject({ value: number, low: number, high: number, uncertainty: number }));

const RecordingEntrySchema = v.looseObject({
  file: v.string(),
  column: v.union([v.string(), number]),
  samples: number,
  blindBelowSeconds: orNull(number),
  rejectedRows: number,
  warnings: words,
  offsetSeconds: orNull(number),
  offsetUncertaintySeconds: orNull(number),
  driftPpm: orNull(number),
  plateaus: v.array(
    v.looseObject({
      startSeconds: number,
      endSeconds: number,
      engine: orNull(engine),
      radio: orNull(radio),
      value: number,
      uncertainty: number,
    }),
  ),
  events: v.array(
    v.looseObject({
      kind: v.picklist(["keyed", "released", "engine-start", "engine-stop", "load-reset", "contact-break"]),
      seconds: number,
    }),
  ),
});

const FindingSchema = v.looseObject({
  cause: v.picklist(causes),
  parts: words,
  probability: v.pipe(number, v.minValue(0), v.maxValue(1)),
  dropVolts: orNull(number),
  summary: v.string(),
  evidence: words,
  repair: v.string(),
  afterRepair: v.looseObject({ loadVolts: Q }),
});

const NextReadingSchema = v.looseObject({
  from: v.optional(v.string()),
  to: v.optional(v.string()),
  through: v.optional(v.string()),
  engine,
  radio,
  bits: number,
  why: v.string(),
});

const ReadingNeededSchema = v.looseObject({ from: v.string(), to: v.string(), engine, radio });

const RoundSchema = v.looseObject({
  round: v.string(),
  verdict: v.picklist(["fault", "marginal", "sound", "undecided"]),
  recordings: v.array(RecordingEntrySchema),
  states: v.array(
    v.looseObject({
      engine,
      radio,
      amps: Q,
      batteryVolts: Q,
      loadVolts: Q,
      supplyDropVolts: Q,
      returnDropVolts: Q,
    }),
  ),
  source: v.looseObject({ openCircuitVolts: Q, ohms: Q, runningVolts: Q }),
  parts: v.array(
    v.looseObject({
      id: v.string(),
      leg: v.picklist(["supply", "return"]),
      expectedOhms: Q,
      ohms: Q,
      dropVolts: Q,
      faultProbability: number,
    }),
  ),
  findings: v.array(FindingSchema),
  nextReadings: v.array(NextReadingSchema),
  worstCase: v.looseObject({ loadVolts: Q, marginVolts: Q, conditions: v.string() }),
  protection: v.array(
    v.looseObject({
      part: v.string(),
      check: v.string(),
      pass: orNull(v.boolean()),
      detail: v.string(),
      source: v.string(),
    }),
  ),
  verification: v.looseObject({
    readingsTaken: v.array(ReadingNeededSchema),
    readingsMissing: v.array(ReadingNeededSchema),
    passed: orNull(v.boolean()),
  }),
  warnings: words,
});

export const DiagnosisSchema = v.looseObject({
  format: v.literal("diagnosis/1"),
  folder: v.string(),
  title: v.string(),
  rounds: v.array(RoundSchema),
  comparison: orNull(
    v.looseObject({
      from: v.string(),
      to: v.string(),
      loadVoltsGained: Q,
      parts: v.array(v.looseObject({ id: v.string(), ohmsBefore: Q, ohmsAfter: Q, changeIsReal: number })),
      repairHeld: orNull(v.boolean()),
    }),
  ),
});
