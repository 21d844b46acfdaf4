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
 * @param range a bit beside the range may be more of it, or a prefix of the unit: it is tested in each of its states that was
 * typed, and in its byte in all of them
 * @param matched for each typed value the frames that show it
 * @param harmless nats for a bit being of no matter
 */
export function idleStates(
  bits: readonly BitTrack[],
  range: Field | null,
  values: Float64Array,
  matched: readonly (readonly number[])[],
  harmless: (track: BitTrack) => number,
): IdleStates {
  const places = [...new Set(bits.map(({ at }) => at))];
  const open = places
    .map((at) => {
      const here = bits.filter((track) => track.at === at);
      const frames = untestedFrames(here, range, range?.bits.at === at, values, matched);
      const beyond = frames.length > 0 && areBeyond(frames, values);
      // A display goes over-range at the largest numbers.
      const excused = beyond ? 0 : Math.min(...here.map(harmless));
      return { frames, beyond, cost: frames.length > 0 ? Math.max(0, idleStateCost - excused) : 0 };
    })
    .filter(({ cost }) => cost > 0);
  return {
    cost: open.slice(0, 2).reduce((sum, { cost }) => sum + cost, 0),
    frame: open[0]?.frames[0] ?? null,
    beyond: open[0]?.beyond ?? false,
  };
}

function untestedFrames(
  bits: readonly BitTrack[],
  range: Field | null,
  oneByte: boolean,
  values: Float64Array,
  matched: readonly (readonly number[])[],
): number[] {
  const rangeOf = (frame: number) => range?.values[frame] ?? 0;
  const bitsOf = (frame: number) => bits.reduce((state, track) => state * 2 + track.values[frame]!, 0);
  const both = (frame: number) => bitsOf(frame) * 256 + rangeOf(frame);
  const tested = { ranges: sole(matched, rangeOf), bits: sole(matched, bitsOf), both: sole(matched, both) };
  const isOpen = (frame: number) =>
    oneByte || tested.ranges.has(rangeOf(frame)) ? !tested.both.has(both(frame)) : !tested.bits.has(bitsOf(frame));
  const open = new Map<number, number[]>();
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i]!) || !isOpen(i)) continue;
    const frames = open.get(both(i)) ?? [];
    frames.push(i);
    open.set(both(i), frames);
  }
  return [...open.values()].filter((frames) => frames.length > passingFrames).flat();
}

/** The states of typed values whose frames have one state alone. */
function sole(matched: readonly (readonly number[])[], stateOf: (frame: number) => number): Set<number> {
  const states = matched.map((frames) => new Set(frames.map(stateOf)));
  return new Set(states.filter(({ size }) => size === 1).flatMap((one) => [...one]));
}

function areBeyond(frames: readonly number[], values: Float64Array): boolean {
  const inside = new Set(frames);
  const least = Math.min(...frames.map((frame) => Math.abs(values[frame]!)));
  return values.every((value, i) => inside.has(i) || !(Math.abs(value) >= least));
}

/** How a bit goes with what range, sign and over-range say already: a unit beside its range, a sign spread upwards. */
export type Following = "always" | "but for moments" | "no";

/** A bit that says the same in all but so few frames says it of something larger: the number was cut short. */
const fewMoments = 0.03;
/** Frames of each state that it takes to speak of a rule. */
const enoughFrames = 4;

/** @param ranges by frame, where a field chooses the range */
export function following({ values: bit }: BitTrack, ranges: Uint8Array | null, values: Float64Array): Following {
  const kinds = ranges ? 4 * 256 : 4;
  const zeros = new Int32Array(kinds);
  const ones = new Int32Array(kinds);
  for (let i = 0; i < bit.length; i++) {
    const kind = (ranges ? ranges[i]! : 0) * 4 + signState(values[i]!);
    if (bit[i]) ones[kind]!++;
    else zeros[kind]!++;
  }
  let contradicted = false;
  let exceptions = 0;
  const isRule = [false, false];
  for (let kind = 0; kind < kinds; kind += 4) {
    for (let state = kind; state < kind + atNought; state++) {
      const fewer = Math.min(zeros[state]!, ones[state]!);
      exceptions += fewer;
      contradicted ||= fewer > 0;
      if (Math.max(zeros[state]!, ones[state]!) >= enoughFrames && zeros[state] !== ones[state])
        isRule[ones[state]! > zeros[state]! ? 1 : 0] = true;
    }
    // Nought may have either sign, but counts as positive where nothing is to contradict.
    const [off, on] = [zeros[kind]! + zeros[kind + atNought]!, ones[kind]! + ones[kind + atNought]!];
    contradicted ||= Math.min(off, on) > 0;
  }
  if (!contradicted) return "always";
  const moments = exceptions > 0 && exceptions <= fewMoments * bit.length;
  return moments && isRule.every(Boolean) ? "but for moments" : "no";
}

const atNought = 3;
const signState = (value: number): number => (Number.isNaN(value) ? 2 : value < 0 ? 1 : value === 0 ? atNought : 0);
