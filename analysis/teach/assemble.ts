/** Puts a recipe together from the parts that were found, and finds which unit its values are in. */

import { byteAbove, codingBits, endCodes } from "./coding-bits.ts";
import { eachSortedOnce } from "./field-sorts.ts";
import type { BitTrack } from "./flag-search.ts";
import { holdFlag } from "./hold-search.ts";
import { looseBytes, loosened } from "./loose-bytes.ts";
import type { NumberCoding } from "./number-coding.ts";
import type { Survivor } from "./number-search.ts";
import type { OverProposal } from "./over-search.ts";
import type { Field, RangeTable } from "./range-search.ts";
import type { MeterUnit, Recipe } from "./recipe.ts";
import type { Fit } from "./scale-search.ts";
import type { Scene } from "./scene.ts";
import type { Domain, Sighting } from "./sighting.ts";
import type { SignProposal } from "./sign-search.ts";
import { baseUnit } from "./teach-input.ts";

export interface Parts {
  readonly scene: Scene;
  readonly survivor: Survivor;
  readonly raw: Float64Array;
  readonly scaled: { readonly fit: Fit; readonly range: { field: Field; table: RangeTable } | null };
  readonly over: OverProposal;
  readonly sign: SignProposal;
  /** bytes that only repeat the number */
  readonly repeating: ReadonlySet<number>;
  /** living bits that have no other part yet */
  readonly bits: readonly BitTrack[];
  /** sizes, NaN where over-range */
  readonly clean: Float64Array;
}

/** The unit: one for all, written behind the number, or told by a field where typed values have different ones. */
export function unitsFor(
  scene: Scene,
  seen: readonly Sighting[],
  matched: readonly (readonly number[])[],
  domain: Domain,
  { coding, unitWritten }: Survivor,
): { unit: Recipe["unit"]; cost: number }[] {
  if (unitWritten) return [{ unit: "written", cost: 0 }];
  const wanted = seen.map(({ typed }): MeterUnit => (domain === "base" ? baseUnit(typed.unit) : typed.unit));
  if (new Set(wanted).size === 1) return [{ unit: wanted[0]!, cost: 0 }];
  const own = codingBits(coding);
  const free = eachSortedOnce(scene.fields.filter(({ bits }) => !own.has(bits.at * 8 + bits.shift)));
  const out = free.flatMap((field) => {
    const units = unitsBy(field, wanted, matched);
    if (!units) return [];
    const unseen = field.distinct.filter((state) => units[String(state)] === undefined).length;
    const cost = Math.log(free.length) + 1 + 2 * unseen + 0.5 * field.distinct.length + field.ragged;
    return [{ unit: { field: field.bits, units }, cost }];
  });
  return out.sort((a, b) => a.cost - b.cost).slice(0, 3);
}

function unitsBy(field: Field, wanted: readonly MeterUnit[], matched: readonly (readonly number[])[]) {
  const units: Record<string, MeterUnit> = {};
  for (const [i, unit] of wanted.entries()) {
    const state = String(field.values[matched[i]![0]!]!);
    if (units[state] !== undefined && units[state] !== unit) return null;
    units[state] = unit;
  }
  return units;
}

export function assemble(
  { scene, survivor, raw, scaled, over, sign, repeating, bits, clean }: Parts,
  unit: Recipe["unit"],
): Recipe {
  const { kind } = scene;
  const used = codingBits(survivor.coding);
  const use = (part: { at: number; shift: number; bits: number }) => {
    for (let bit = 0; bit < part.bits; bit++) used.add(part.at * 8 + part.shift + bit);
  };
  const { fit, range } = scaled;
  const free = bits.filter((track) => track.at !== sign.flag?.at || track.shift !== sign.flag.shift);
  const hold = holdFlag(raw, free, livelyShare(clean) > 0.3);
  for (const flag of [...over.flags, sign.flag, range?.field.bits, hold]) if (flag) use(flag);
  const own = kind.kind.hexadecimalFrom === undefined ? kind.kind.fixed.flatMap((entry) => without(entry, used)) : [];
  const strict = { ...kind.kind, fixed: own };
  const frame = scene.lines
    ? strict
    : loosened(strict, kind.framing, kind.others, looseBytes(kind.frames, used, byteAbove(survivor.coding), repeating));
  return {
    format: "recipe/1",
    framing: kind.framing,
    frame,
    others: [...kind.others],
    number: survivor.coding,
    ...(sign.flag ? { negative: sign.flag } : {}),
    scale: {
      factor: fit.factor,
      ...(fit.zero !== 0 ? { zero: fit.zero } : {}),
      ...(range ? { range: { field: range.field.bits, exponents: Object.fromEntries(range.table.exponents) } } : {}),
    },
    unit,
    overRange: {
      flags: [...over.flags],
      codes: [...new Set([...over.codes, ...endCodes(survivor.coding)])],
      ...(mayBeUnreadable(raw, scene, survivor.coding.coding) ? { unreadable: true } : {}),
    },
    ...(hold ? { hold } : {}),
  };
}

/** Share of the frames whose number differs from the one before. */
function livelyShare(values: Float64Array): number {
  let moved = 0;
  for (let i = 1; i < values.length; i++) if (values[i] !== values[i - 1]) moved++;
  return moved / values.length;
}

/** Figures that are none count as over-range where they last, or where somebody saw it; one alone was damaged. */
function mayBeUnreadable(raw: Float64Array, { overWindows }: Scene, coding: NumberCoding["coding"]): boolean {
  // A glass shows digits whose drawing nobody has typed yet, and lines hold remarks, beside a mark that is known.
  const marked = overWindows.some((frames) => frames.some((frame) => raw[frame] === Number.POSITIVE_INFINITY));
  if (coding === "segments" && overWindows.length === 0) return false;
  if ((coding === "segments" || coding === "text") && marked) return false;
  for (let i = 1; i < raw.length; i++) if (Number.isNaN(raw[i]!) && Number.isNaN(raw[i - 1]!)) return true;
  return overWindows.some((frames) => frames.some((frame) => Number.isNaN(raw[frame]!)));
}

/** Fixed bits that the number or a flag may yet turn are no sign of a sound frame. */
function without([at, mask, value]: [number, number, number], used: ReadonlySet<number>): [number, number, number][] {
  let left = mask;
  for (let bit = 0; bit < 8; bit++) if (used.has(at * 8 + bit)) left &= ~(1 << bit);
  return left === 0 ? [] : [[at, left, value & left]];
}
