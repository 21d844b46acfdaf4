/** Bits that go with the number and have no part in a way to read it: what they cost it, and what would settle them. */
import { byteAbove } from "./coding-bits.ts";
import type { Case, Scaled } from "./completion.ts";
import type { BitTrack } from "./flag-search.ts";
import { following, type IdleStates, idleStates } from "./idle-states.ts";
import type { OverProposal } from "./over-search.ts";
import type { Bits, Recipe } from "./recipe.ts";
import type { Sighting } from "./sighting.ts";
import type { SignProposal } from "./sign-search.ts";
import { thresholdEvidence } from "./size-threshold.ts";
import { levelsOf } from "./stream-evidence.ts";

/** One way to read the frames, with the values that it reads and for each typed value the frames that show it. */
interface Way {
  readonly given: Case;
  readonly scaled: Scaled;
  readonly over: OverProposal;
  readonly sign: SignProposal;
  readonly unit: Recipe["unit"];
  readonly values: Float64Array;
  readonly matched: readonly (readonly number[])[];
}

export function withoutPart(way: Way): IdleStates {
  const { given, scaled, values, matched } = way;
  const range = scaled.range?.field ?? null;
  const idle = idleStates(unusedBits(way), range, values, matched, displayRangeEvidence(given, scaled, values));
  return { ...idle, cost: idle.cost + (isCutOff(way) ? cutOffCost : 0) };
}

/** Nats against a number that leaves its upper bits out: in checked frames no damage turns them. */
const cutOffCost = 4;

/** Whether the byte above the number is its sign spread upwards, but for moments or for numbers that reach into it. */
function isCutOff({ given, scaled, values }: Way): boolean {
  const { scene, survivor, bits } = given;
  if (scene.kind.kind.checks.length === 0 || !survivor.signed) return false;
  const above = byteAbove(survivor.coding);
  if (above === null || !bits.some((track) => track.at === above)) return false;
  const upper = Uint8Array.from(scene.kind.frames, (frame) => frame[above] ?? 0);
  if ([0, 128].some((nought) => reachesUp(upper, nought, values))) return true;
  const states = scaled.range?.field.values ?? null;
  return bits.some((track) => track.at === above && following(track, states, values) === "but for moments");
}

const within = (track: BitTrack, { at, shift, bits }: Bits): boolean =>
  track.at === at && track.shift >= shift && track.shift < shift + bits;

export const isAt = ({ at, shift }: BitTrack, flag: { at: number; shift: number }): boolean =>
  at === flag.at && shift === flag.shift;

export const inRange = (track: BitTrack, { range }: Scaled): boolean =>
  range !== null && within(track, range.field.bits);

/** How far a number may reach into the byte above it that else is its sign, and in what share of the frames it is (our choice). */
const fewSteps = 4;
const mostlySign = 0.5;
const enoughFrames = 4;

/** @param nought the upper byte of a small positive number; one less is that of a negative one */
function reachesUp(upper: Uint8Array, nought: number, values: Float64Array): boolean {
  const agreeing = { plus: 0, minus: 0 };
  let beyond = 0;
  for (let i = 0; i < upper.length; i++) {
    if (!Number.isFinite(values[i]!) || values[i] === 0) continue;
    const steps = (((upper[i]! - nought) << 24) >> 24) + (values[i]! < 0 ? 1 : 0);
    if (steps === 0) agreeing[values[i]! < 0 ? "minus" : "plus"]++;
    else if (Math.abs(steps) <= fewSteps) beyond++;
    else return false;
  }
  const signs = agreeing.plus + agreeing.minus;
  return (
    beyond > 0 && Math.min(agreeing.plus, agreeing.minus) >= enoughFrames && signs >= mostlySign * (signs + beyond)
  );
}

/** Whether a bit has a part in the number, its range, its sign or its over-range. */
export const isUsed = (
  track: BitTrack,
  { given, scaled, over, sign }: Omit<Way, "unit" | "values" | "matched">,
): boolean =>
  given.own.has(track.at * 8 + track.shift) ||
  inRange(track, scaled) ||
  [...over.flags, sign.flag].some((flag) => flag !== null && isAt(track, flag));

/** State bits that turn as the number jumps, and have no part in this way to read it. */
function unusedBits(way: Way): BitTrack[] {
  const { given, scaled, unit, values } = way;
  const states = scaled.range?.field.values ?? null;
  const beside = given.bits.filter((track) => track.at === scaled.range?.field.bits.at && turnsSeldom(track));
  return [...new Set([...given.related, ...beside])].filter(
    (track) =>
      !isUsed(track, way) &&
      !(typeof unit !== "string" && within(track, unit.field)) &&
      !given.held.has(track) &&
      following(track, states, values) !== "always",
  );
}

/** What shares a byte with the range may be more of it, however the number goes as it turns. */
function turnsSeldom({ values }: BitTrack): boolean {
  const turns = values.reduce((count, value, i) => count + (i > 0 && value !== values[i - 1] ? 1 : 0), 0);
  return turns < seldomShare * values.length;
}

const seldomShare = 0.15;

/** Display counts to one raw unit: a range goes with the display's own counts, and with no finer ones. */
const finerThanShown = 0.5;

/** What the display shows a number on is of no matter to one that has the same step for all. */
function displayRangeEvidence({ seen, survivor }: Case, scaled: Scaled, values: Float64Array) {
  const one = scaled.range === null && (survivor.coding.coding === "float" || countSize(scaled, seen) < finerThanShown);
  if (!one) return () => 0;
  const sizes = values.map(Math.abs);
  const levels = levelsOf(sizes, 0);
  return (track: BitTrack) => thresholdEvidence(track.values, sizes, levels);
}

/** Display counts to one raw unit: a range goes with the display's own counts, one factor may be finer. */
export const countSize = ({ fit, range }: Scaled, seen: readonly Sighting[]): number =>
  range ? 1 : fit.factor / (2 * Math.min(...seen.map(({ half }) => half)));
