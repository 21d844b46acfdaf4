/** Values in V or A, whatever unit the frames tell them in. */
import { bitsOf, type Recipe } from "./recipe.ts";
import type { Scene } from "./scene.ts";
import { isMilli, toBase } from "./teach-input.ts";

export interface InBase {
  readonly values: Float64Array;
  readonly milli: boolean;
  /** share of the values whose unit is not known */
  readonly untold: number;
}

export function inBase(values: Float64Array, { kind }: Scene, unit: Recipe["unit"]): InBase {
  if (unit === "written") return { values, milli: false, untold: 0 };
  if (typeof unit === "string") {
    const milli = isMilli(unit);
    return { values: milli ? values.map((value) => value / 1000) : values, milli, untold: 0 };
  }
  const { field, units } = unit;
  const told = kind.frames.map((frame) => units[String(bitsOf(field, frame))]);
  return {
    values: values.map((value, i) => (told[i] ? toBase(value, told[i]) : Number.NaN)),
    milli: Object.values(units).some(isMilli),
    untold: told.filter((one, i) => one === undefined && Number.isFinite(values[i]!)).length / values.length,
  };
}
