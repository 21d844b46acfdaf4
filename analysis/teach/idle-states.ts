/**
 * State bits that go with the number and have no part in a recipe: a range, an over-range or a sign may be what was missed.
 * Where something was typed in each of their states, and read as typed, they do not touch the number.
 */
import type { BitTrack } from "./flag-search.ts";
import type { Field } from "./range-search.ts";

/** A part that was missed (nats a byte). */
const idleStateCost = 3;
/** A state that lasts has come in more frames than this. */
const passingFrames = 1;

export interface IdleStates {
  /** nats */
  readonly cost: number;
  /** the first frame in a state in which nothing was typed */
  readonly frame: number | null;
  /** in all such frames the number was larger than in any other */
  readonly beyond: boolean;
}

/**
 * @param range a bit beside the range, in its byte, may be more of it: it is tested in each of its states
 * @param matched for each typed value the frames that show it
 */
export function idleStates(
  bits: readonly BitTrack[],
  range: Field | null,
  values: Float64Array,
  matched: readonly (readonly number[])[],
): IdleStates {
  const places = [...new Set(bits.map(({ at }) => at))];
  const open = places
    .map((at) => {
      const ranges = range?.bits.at === at ? range.values : null;
      return untestedFrames(
        bits.filter((track) => track.at === at),
        ranges,
        values,
        matched,
      );
    })
    .filter((frames) => frames.length > 0);
  const frames = open[0] ?? [];
  return {
    cost: idleStateCost * Math.min(2, open.length),
    frame: frames[0] ?? null,
    beyond: frames.length > 0 && areBeyond(frames, values),
  };
}

function untestedFrames(
  bits: readonly BitTrack[],
  ranges: Uint8Array | null,
  values: Float64Array,
  matched: readonly (readonly number[])[],
): number[] {
  const stateOf = (frame: number) =>
    bits.reduce((state, track) => state * 2 + track.values[frame]!, ranges?.[frame] ?? 0);
  const tested = new Set<number>();
  for (const frames of matched) {
    const states = new Set(frames.map(stateOf));
    if (states.size === 1) for (const state of states) tested.add(state);
  }
  const open = new Map<number, number[]>();
  for (let i = 0; i < values.length; i++) {
    const state = stateOf(i);
    if (!Number.isFinite(values[i]!) || tested.has(state)) continue;
    const frames = open.get(state) ?? [];
    frames.push(i);
    open.set(state, frames);
  }
  return [...open.values()].filter((frames) => frames.length > passingFrames).flat();
}

function areBeyond(frames: readonly number[], values: Float64Array): boolean {
  const inside = new Set(frames);
  const least = Math.min(...frames.map((frame) => Math.abs(values[frame]!)));
  return values.every((value, i) => inside.has(i) || !(Math.abs(value) >= least));
}

/**
 * Whether a bit says nothing but what range, sign and over-range say already: a unit beside its range, a sign spread upwards.
 * @param ranges by frame, where a field chooses the range
 */
export function follows({ values: bit }: BitTrack, ranges: Uint8Array | null, values: Float64Array): boolean {
  const says = new Map<number, number>();
  for (let i = 0; i < bit.length; i++) {
    const state = ranges ? ranges[i]! : 0;
    const kind = state * 3 + (Number.isNaN(values[i]!) ? 2 : values[i]! < 0 ? 1 : 0);
    const said = says.get(kind);
    if (said === undefined) says.set(kind, bit[i]!);
    else if (said !== bit[i]) return false;
  }
  return true;
}
