/** What the stream says of a way to read it in each unit that it may be in: the same for all signs that it may have. */
import type { Case, Scaled } from "./completion.ts";
import type { NumberCoding } from "./number-coding.ts";
import { disorder } from "./range-order.ts";
import { bitsOf, type Recipe } from "./recipe.ts";
import type { Sighting } from "./sighting.ts";
import { excess, unsteadiness } from "./stream-evidence.ts";
import { isMilli } from "./teach-input.ts";
import { inBase } from "./values-in-base.ts";

export interface UnitWeight {
  /** nats that the order of the ranges is worth where the unit has its part in it, beyond what the table cost without */
  readonly order: () => number;
  /** nats that the whole stream speaks against the values */
  readonly stream: () => number;
}

/** @param clean values by frame, NaN where over-range */
export function unitWeights(given: Case, scaled: Scaled, clean: Float64Array): (unit: Recipe["unit"]) => UnitWeight {
  const known = new Map<string, UnitWeight>();
  return (unit) => {
    const key = JSON.stringify(unit);
    const weight = known.get(key) ?? {
      order: once(() => orderedByUnit(given, scaled, unit, clean)),
      stream: once(() => streamCost(given, scaled, unit, clean)),
    };
    known.set(key, weight);
    return weight;
  };
}

function once(reckon: () => number): () => number {
  let result: number | null = null;
  return () => {
    result ??= reckon();
    return result;
  };
}

function streamCost(
  { scene, survivor, seen, unread }: Case,
  scaled: Scaled,
  unit: Recipe["unit"],
  clean: Float64Array,
) {
  const volts = inBase(clean, scene, unit);
  const finest = stepOf(survivor.coding, scaled, seen) * (volts.milli ? 1e-3 : 1);
  // How a flag turns the sign is weighed where it is sought; a number that runs over shows in its own.
  const sized = survivor.signed ? volts.values : volts.values.map(Math.abs);
  return (
    unsteadiness(sized, finest) +
    excess(volts.values, scene.typedMost) +
    unreadableCost * Math.max(0, unread - usuallyOver) +
    unreadableCost * volts.untold
  );
}

/** Smallest change that counts: one of the number's own steps, or of the display's where those are finer. */
export function stepOf(coding: NumberCoding, { fit, range }: Scaled, seen: readonly Sighting[]): number {
  const shown = 2 * Math.min(...seen.map(({ half }) => half));
  if (coding.coding !== "integer" && coding.coding !== "digits") return shown;
  const exponents = range ? [...range.table.exponents.values()] : [0];
  return Math.max(fit.factor * 10 ** Math.min(...exponents), shown);
}

function orderedByUnit(
  { scene, survivor, raw }: Case,
  { range }: Scaled,
  unit: Recipe["unit"],
  clean: Float64Array,
): number {
  if (range === null || typeof unit === "string") return 0;
  const { field, table } = range;
  const prefixes = byState(Object.entries(unit.units).map(([state, told]) => [Number(state), isMilli(told) ? -3 : 0]));
  const powers = byState([...table.exponents]);
  const { frames } = scene.kind;
  const exponents = new Float64Array(raw.length);
  const sizes = new Float64Array(raw.length);
  for (let i = 0; i < raw.length; i++) {
    exponents[i] = powers[field.values[i]!]! + prefixes[bitsOf(unit.field, frames[i]!)]!;
    sizes[i] = Number.isFinite(clean[i]!) ? Math.abs(raw[i]!) : Number.NaN;
  }
  return disorder(exponents, sizes, survivor.coding.coding === "segments") - table.disorder;
}

function byState(known: readonly (readonly [number, number])[]): Float64Array {
  const out = new Float64Array(256).fill(Number.NaN);
  for (const [state, power] of known) out[state] = power;
  return out;
}

/** Figures that are none may mean over-range, but not for most of a recording (nats for all of it). */
const unreadableCost = 15;
const usuallyOver = 0.2;
