/**
 * Volts at the load, as the log nearest to it shows them: they decide what a disturbance while keyed was.
 */
import type { Seconds } from "../units.ts";
import type { KeyingSignal } from "./keying-signal.ts";
import { rankedByTime } from "./ranked-by-time.ts";
import { risesOf } from "./rise.ts";
import { openBelow } from "./signals.ts";
import type { ClockedLog, Stretch } from "./stretch.ts";

/** Volts at the load join the signals as they are: where a contact opens they fall to nothing. */
export function withLoadVolts(
  starts: Float64Array,
  ends: Float64Array,
  signals: readonly KeyingSignal[],
  steps: readonly Float64Array[],
  loadVolts: Float64Array,
  keyed: Uint8Array,
  regime: Uint8Array,
) {
  if (loadVolts.every((level) => Number.isNaN(level))) return { signals, steps };
  const place = signals.findIndex((signal) => signal.sight === "load");
  const { uncertainty, jumps, jumpUncertainty, run, intervalSeconds, restShare, mostRestShare } = signals[place]!;
  const load: KeyingSignal = {
    ...evenly(loadVolts.map((x) => -x)),
    uncertainty,
    jumps,
    jumpUncertainty,
    run,
    wholeRun: false,
    across: [],
    overRange: new Uint8Array(loadVolts.length),
    intervalSeconds,
    sight: "load",
    expected: null,
    idleShare: null,
    restShare,
    mostRestShare,
  };
  const own = ownSteps(starts, ends, load, loadVolts, keyed, regime, steps[place]!);
  const others = signals
    .map((signal, s) => ({ signal, steps: steps[s]! }))
    .filter(({ signal }) => signal.sight !== "load");
  return { signals: [...others.map((each) => each.signal), load], steps: [...others.map((each) => each.steps), own] };
}

/** A keyed step is taken for the set's where the load stands as low as it says, to within this share, for so much of the time. */
const nearStep = 0.15;
const heldShare = 0.25;

/**
 * The keyed step that the load showed by itself, where it is held anywhere; else what the load loses for most of the time.
 * Each regime has its own: charged, a tired battery gives way much less.
 */
function ownSteps(
  starts: Float64Array,
  ends: Float64Array,
  load: KeyingSignal,
  loadVolts: Float64Array,
  keyed: Uint8Array,
  regime: Uint8Array,
  found: Float64Array,
): Float64Array {
  const open = openBelow(loadVolts);
  const held = risesOf(load, keyed)
    .filter(({ k }) => loadVolts[k]! >= open)
    .map(({ k, height }) => ({ k, height, seconds: ends[k]! - starts[k]! }));
  const known = new Map([...new Set(regime)].map((wanted) => [wanted, stepHeld(held, regime, wanted, found)]));
  return Float64Array.from(regime, (wanted, k) => known.get(wanted) ?? found[k]!);
}

/** What the load loses for most of the time in one regime; null where the step that was found is held. */
function stepHeld(
  all: readonly { k: number; height: number; seconds: Seconds }[],
  regime: Uint8Array,
  wanted: number,
  found: Float64Array,
): number | null {
  const here = all.filter(({ k }) => regime[k] === wanted);
  const held = here.length > 0 ? here : all;
  const whole = held.reduce((sum, { seconds }) => sum + seconds, 0);
  const near = held.filter(({ k, height }) => Math.abs(height - found[k]!) < nearStep * found[k]!);
  if (near.reduce((sum, { seconds }) => sum + seconds, 0) > heldShare * whole) return null;
  return held.length > 0 ? Math.max(rankedByTime(held, 0.5), 0) : 0;
}

export function loadVoltsOf(group: readonly ClockedLog[], stretches: readonly Stretch[]): Float64Array {
  let best = -1;
  group.forEach(({ log }, i) => {
    const { sight, partsPassed } = log.movement;
    if (sight !== "load") return;
    if (best < 0 || partsPassed < group[best]!.log.movement.partsPassed) best = i;
  });
  return Float64Array.from(stretches, (stretch) =>
    best < 0 ? Number.NaN : stretch.looks[best]!.level * group[best]!.log.movement.polarity,
  );
}

const evenly = (levels: Float64Array) => ({ levels, begins: levels, finishes: levels });
