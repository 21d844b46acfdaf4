/**
 * What one signal by itself says of keying: of the sizes of step that it makes the one that, repeated, explains it best.
 */
import { decodeKeying, type Keying } from "./keying.ts";
import type { KeyingCase } from "./keying-case.ts";
import type { KeyingSignal } from "./keying-signal.ts";
import { median } from "./median.ts";
import type { Sight } from "./movement.ts";
import { unexpected, unlike } from "./step-prior.ts";
import { candidateSteps, scaleOf, standing } from "./step-size.ts";

/** The stretches of a group and what is known of them beforehand. */
export interface KeyingTask {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  readonly fixed: Uint8Array;
  /** stretches of one number share their keyed steps: the battery answers otherwise while it is charged */
  readonly regime: Uint8Array;
  /** current follows the voice or the code */
  readonly pulsed: boolean;
}

/** How closely a signal follows the load's current and nothing else. */
const trust: Readonly<Record<Sight, number>> = { current: 1, drop: 0.9, load: 0.5, battery: 0.72 };
/** So much clearer has a battery log to be where speech moves it up and down. */
const voiceDoubt = 0.15;
/** A keyed step has to save this much over "no keying at all". */
const worthwhile = 2;

export interface Alone {
  readonly keying: Keying;
  readonly steps: Float64Array;
  readonly scale: number;
  readonly merit: number;
}

/** One signal by itself: each regime's step is the candidate that makes the whole cheapest. */
export function aloneIn(task: KeyingTask, s: number): Alone {
  const signal = task.signals[s]!;
  const stands = standing(task);
  const scale = scaleOf(signal, stands);
  const only: Omit<KeyingCase, "steps" | "fixed"> = {
    ...task,
    signals: [signal],
    scales: [scale],
    idleLevels: [Number.NaN],
  };
  const n = task.starts.length;
  let steps = new Float64Array(n);
  let best = decodeKeying({ ...only, steps: [steps], fixed: allIdle(task.fixed) });
  const unkeyed = best.cost;
  let least = unkeyed - worthwhile;
  const regimes = [...new Set(task.regime)];
  // What the first regime shows is asked again once the second is known.
  for (const regime of regimes.length > 1 ? [...regimes, ...regimes] : regimes) {
    const settled = steps;
    for (const candidate of candidateSteps(signal, (k) => stands(k) && task.regime[k] === regime)) {
      const tried = settled.map((step, k) => (task.regime[k] === regime ? candidate : step));
      const fixed = task.fixed.map((state, k) => (tried[k]! > 0 ? state : Math.max(state, 1)));
      const keying = decodeKeying({ ...only, steps: [tried], fixed });
      const cost =
        keying.cost +
        unexpected(signal, candidate, task.pulsed) +
        unlike(signal, candidate, settled, task.regime, regime);
      if (cost >= least) continue;
      least = cost;
      best = keying;
      steps = tried;
    }
  }
  const clarity = regimes.map((regime) => ({
    regime,
    share: clarityIn(task, signal, steps, best, regime),
  }));
  if (needsClarity(signal)) {
    const fewest = signal.sight === "battery" ? 2 : 1;
    const unclear = clarity
      .filter(
        ({ share, regime }) =>
          share < leastClarity[signal.sight] + (task.pulsed && signal.sight === "battery" ? voiceDoubt : 0) ||
          wholeTransmissions(task, best, regime) < fewest,
      )
      .map(({ regime }) => regime);
    steps = steps.map((step, k) => (unclear.includes(task.regime[k]!) ? 0 : step));
    const keyed = best.keyed.map((state, k) => (steps[k]! > 0 ? state : 0));
    best = { ...best, keyed };
  }
  const overall = Math.max(...clarity.map(({ share }) => share));
  return { keying: best, steps, scale, merit: overall ** 2 * merit(signal, steps, best, unkeyed - least) };
}

/** Other loads and a hunting regulator move these: a pattern of keying is believed only where it explains most of what happens. */
export const needsClarity = ({ sight }: KeyingSignal): boolean => leastClarity[sight] > 0;
const leastClarity: Readonly<Record<Sight, number>> = { current: 0, drop: 0, load: 0.5, battery: 0.65 };

const innerWeight = 0.4;
const voiceWeight = 0.05;

/** Transmissions of a regime of which beginning and end were seen. */
function wholeTransmissions({ regime }: KeyingTask, { keyed }: Keying, wanted: number): number {
  let count = 0;
  for (let k = 1; k < keyed.length; k++) {
    if (keyed[k] === 0 && keyed[k - 1] === 1 && regime[k] === wanted && regime[k - 1] === wanted) count++;
  }
  return count;
}

/** Share of a regime's steps, by square of size up to the keyed step's, that are the beginning or end of a transmission; 0 where there is none. */
function clarityIn(
  task: KeyingTask,
  signal: KeyingSignal,
  steps: Float64Array,
  { keyed }: Keying,
  regime: number,
): number {
  const stands = standing(task);
  let edges = 0;
  let others = 0;
  let last = -1;
  for (let k = 0; k < keyed.length; k++) {
    if (Number.isNaN(signal.levels[k]!) || !stands(k)) continue;
    if (last >= 0 && task.regime[k] === regime && task.regime[last] === regime && steps[k]! > 0) {
      const change = signal.begins[k]! - signal.finishes[last]!;
      const size = Math.min(Math.abs(change) / steps[k]!, 1) ** 2;
      if (keyed[k] !== keyed[last] && change > 0 === (keyed[k] === 1)) edges += size;
      else others += keyed[k] === 1 && keyed[last] === 1 ? (task.pulsed ? voiceWeight : innerWeight) * size : size;
    }
    last = k;
  }
  return edges > 0 ? edges / (edges + others) : 0;
}

const allIdle = (fixed: Uint8Array): Uint8Array => fixed.map((state) => Math.max(state, 1));

function merit(signal: KeyingSignal, steps: Float64Array, keying: Keying, saving: number): number {
  const clear: number[] = [];
  for (let k = 0; k < steps.length; k++) {
    if (keying.keyed[k] === 1 && !Number.isNaN(signal.levels[k]!)) clear.push(steps[k]! / signal.uncertainty[k]!);
  }
  if (clear.length === 0 || saving <= 0) return 0;
  return trust[signal.sight] * Math.min(median(clear), 30) * Math.min(saving, 60);
}
