import * as v from "valibot";

/** Stated accuracy of one range: percent of reading plus counts; one count is `resolution`, in the quantity's unit. */
export const MeterAccuracySchema = v.looseObject({
  percentOfReading: v.pipe(v.number(), v.minValue(0), v.maxValue(100)),
  counts: v.pipe(v.number(), v.minValue(0), v.maxValue(10_000)),
  resolution: v.pipe(v.number(), v.gtValue(0), v.maxValue(1000)),
});
export type MeterAccuracy = v.InferOutput<typeof MeterAccuracySchema>;

export const MeterSchema = v.looseObject({
  id: v.pipe(v.string(), v.minLength(1)),
  label: v.optional(v.string()),
  volts: v.optional(MeterAccuracySchema),
  amps: v.optional(MeterAccuracySchema),
  /** the shortest dip that its min/max hold catches */
  captureSeconds: v.optional(v.pipe(v.number(), v.minValue(0))),
  calibratedOn: v.optional(v.string()),
});
export type Meter = v.InferOutput<typeof MeterSchema>;
