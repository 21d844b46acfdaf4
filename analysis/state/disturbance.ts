/**
 * What happened while the key was held: the load let go and came back, or a contact opened or shifted.
 * Goes in: stretches found keyed, with how high each signal stood over its idle level. Comes out: one name for each disturbed stretch.
 */

import type { Seconds } from "../units.ts";
import { beginBreaks, clearSteps, cutEdges, type Disturbance, joinBreaks } from "./disturbance-edges.ts";
import {
  gone,
  type HeightCase,
  type HeldHeights,
  heightsOf,
  heldHeights,
  isHeld,
  leastJump,
  runEnd,
  usualElsewhere,
} from "./keyed-height.ts";
import { atOnce, type KeyingSignal } from "./keying-signal.ts";
import { partByPart } from "./part-by-part.ts";
import type { Pause } from "./pause.ts";
import { rankedByTime } from "./ranked-by-time.ts";
import { nameOpened, type Span } from "./reset-or-open.ts";

/** Of the signals, volts at the load are turned so that keying raises them, where they were logged. */
export interface DisturbanceCase extends HeightCase {
  /** current follows the voice or the code: pauses are speech, not resets */
  readonly pulsed: boolean;
  /** all parts of the loop, the load aside, by id */
  readonly parts: readonly string[];
}

/** Share of a transmission that its meter's filter may take to settle. */
const passingShare = 0.15;
/** Share of a transmission of speech below its peaks, and by what factor a broken contact stands over these at least. */
const peakShare = 0.9;
const beyondPeaks = 1.8;
/** Over the middle of speech no peak stands so high. */
const mostVoice = 3;
/** A jump of which so much is left on an idle set is no contact's. */
const outlastingShare = 0.5;
/** A meter's filter has come to rest after so long; common practice. */
const filterSeconds: Seconds = 2.5;
/** A drop leaps that moves by so many times what is clear. */
const leapShare = 3;

/** Names each keyed stretch that is off the level of the rest of its transmission. */
export function disturbancesOf(given: DisturbanceCase, pauses: readonly Pause[]): Disturbance[] {
  const found: Disturbance[] = new Array(given.keyed.length).fill(null);
  const heights = given.signals.map((signal) => heightsOf(given, signal));
  const held = given.signals.map((_, s) => heldHeights(given, heights[s]!, s));
  const watched = partByPart(given);
  for (const [first, last] of transmissions(given.keyed)) {
    const flows = flowing(given, heights, first, last);
    const own = given.signals.map((_, s) => votesOf(given, heights[s]!, held[s]!, s, first, last, flows));
    const votes = ledByWhole(given, deniedByParts(given, own, watched, first));
    const cast = (k: number) =>
      heardOf(
        given,
        votes.map((vote) => vote[k - first]!),
        k,
      );
    for (let k = first; k <= last; k++) found[k] = verdict(given, cast(k), k);
    for (const pause of pauses) {
      if (pause.first < first || pause.last > last) continue;
      for (let k = pause.first; k <= pause.last; k++) {
        if (found[k] === null && !cast(k).includes("usual")) found[k] = "load-reset";
      }
    }
    if (given.pulsed) for (let k = first; k <= last; k++) if (found[k] === "load-reset") found[k] = null;
  }
  const spans = [...transmissions(given.keyed)];
  nameOpened(given, found, watched, spans);
  for (const [first, last] of spans) {
    joinBreaks(given, found, first, last);
    beginBreaks(given, found, first, last);
    cutEdges(given, found, pauses, first, last);
  }
  return found;
}

function* transmissions(keyed: Uint8Array): Generator<Span> {
  for (let k = 0; k < keyed.length; k++) {
    if (keyed[k] === 0) continue;
    const first = k;
    while (keyed[k + 1] === 1) k++;
    yield [first, k];
  }
}

/** null: not seen clearly */
type Vote = "gone" | "higher" | "partly" | "usual" | null;

/**
 * Where the whole run or the volts at the load show a contact that gives way, they alone tell when: elsewhere in the loop
 * less current flows meanwhile, so that its drops stand higher before and after.
 */
function ledByWhole({ signals }: DisturbanceCase, votes: Vote[][]): Vote[][] {
  const leads = signals.map(({ sight, wholeRun }, s) => (sight === "load" || wholeRun) && votes[s]!.includes("higher"));
  if (!leads.includes(true)) return votes;
  return votes.map((row, s) => (leads[s] ? row : row.map((vote) => (vote === "higher" ? null : vote))));
}

/** A contact that gives way is one of the loop's: where each was watched and none gave way, two meters only differ, or the charging moved. */
function deniedByParts({ signals }: DisturbanceCase, votes: Vote[][], watched: Uint8Array, first: number): Vote[][] {
  const direct = votes.filter((_, s) => signals[s]!.across.length > 0);
  const denied = (k: number) => watched[first + k] === 1 && !direct.some((row) => row[k] === "higher");
  return votes.map((row, s) =>
    signals[s]!.across.length > 0 ? row : row.map((vote, k) => (vote === "higher" && denied(k) ? null : vote)),
  );
}

/**
 * Whether the set still draws its current in each stretch of a transmission, as a clamp tells, else the drops, else the
 * battery's sag: where volts at the load stand high then, no set has let go; it is the contact that has not yet given way.
 */
function flowing(given: DisturbanceCase, heights: readonly Float64Array[], first: number, last: number): boolean[] {
  const ranks = [isClamp, isDrop, ({ sight }: KeyingSignal) => sight === "battery"].map((belongs) =>
    given.signals.map((_, s) => s).filter((s) => belongs(given.signals[s]!) && showsClearly(given, s, first)),
  );
  return Array.from({ length: last - first + 1 }, (_, i) => {
    const seen = ranks.map((tells) => tells.filter((s) => !Number.isNaN(heights[s]![first + i]!))).find(isHeard);
    return seen?.every((s) => heights[s]![first + i]! > gone * given.steps[s]![first]!) ?? false;
  });
}

const isClamp = ({ sight }: KeyingSignal): boolean => sight === "current";
const isDrop = ({ across }: KeyingSignal): boolean => across.length > 0;
const isHeard = ({ length }: readonly unknown[]): boolean => length > 0;

const showsClearly = ({ signals, steps }: DisturbanceCase, s: number, k: number): boolean =>
  steps[s]![k]! > clearSteps * signals[s]!.uncertainty[k]!;

/** What one signal says of each stretch of a transmission. */
function votesOf(
  given: DisturbanceCase,
  heights: Float64Array,
  held: HeldHeights,
  s: number,
  first: number,
  last: number,
  flows: readonly boolean[],
): Vote[] {
  const signal = given.signals[s]!;
  const rows = Array.from({ length: last - first + 1 }, (_, i) => heights[first + i]!);
  const step = given.steps[s]![first]!;
  const clear = clearSteps * (signal.uncertainty[first] ?? 0);
  if (!(step > clear)) return leapsOf(signal, rows, first, clear);
  const standing = rows.flatMap((height, i) =>
    (height > gone * step || (flows[i] && height > clear)) &&
    !(given.pulsed && height > mostVoice * step) &&
    !isPassing(given, rows, i, first, signal)
      ? [{ height, seconds: given.ends[first + i]! - given.starts[first + i]! }]
      : [],
  );
  // Lowest of what it holds for more than a moment: a meter's filter passes through many levels on its way up.
  const ranked = standing.length > 0 ? rankedByTime(standing, given.pulsed ? peakShare : passingShare) : step;
  const low = given.pulsed
    ? ranked
    : standing.reduce(
        (least, { height }) => (isHeld(given, held, s, first, height) ? Math.min(least, height) : least),
        ranked,
      );
  const usual = usualElsewhere(given, held, s, first, rows) ?? low;
  const jump = given.pulsed ? beyondPeaks * usual : largestJump(rows, gone * usual, signal, first);
  const clearJump = jump > Math.max(leastJump * usual, clear);
  const shifts = signal.sight !== "battery" && clearJump && !outlasts(given, signal, first, last, jump);
  return rows.map((height, i) => {
    if (signal.overRange[first + i] === 1) return "higher";
    if (Number.isNaN(height)) return null;
    if (height < gone * usual) return "gone";
    if (!shifts || height < usual + jump / 2) return "usual";
    if (!settled(given, first + i, signal)) return null;
    return signal.sight === "current" ? "partly" : "higher";
  });
}

/**
 * What stands as much higher once the key is let go, and does not settle, is another load: a contact that gave way loses
 * few volts to an idle set.
 */
function outlasts(given: DisturbanceCase, signal: KeyingSignal, first: number, last: number, jump: number): boolean {
  const { starts, ends, keyed } = given;
  const settledBy = ends[last]! + Math.max(filterSeconds, 4 * signal.intervalSeconds);
  let least = Number.POSITIVE_INFINITY;
  for (let k = last + 1; keyed[k] === 0 && starts[k]! < settledBy; k++) {
    for (const level of [signal.begins[k]!, signal.levels[k]!, signal.finishes[k]!]) if (level < least) least = level;
  }
  return least < Number.POSITIVE_INFINITY && least - signal.finishes[first - 1]! > outlastingShare * jump;
}

/** A drop that keying hardly moves says nothing of a usual height, but one that leaps has given way. */
function leapsOf(signal: KeyingSignal, rows: readonly number[], first: number, clear: number): Vote[] {
  const { sight, wholeRun } = signal;
  const leap = sight === "drop" && !wholeRun ? largestJump(rows, Number.NEGATIVE_INFINITY, signal, first) : 0;
  const low = Math.min(...rows.filter((height) => !Number.isNaN(height)));
  return rows.map((height) => (leap > leapShare * clear && height > low + leap / 2 ? "higher" : null));
}

/** A slow meter's one sample between two levels is neither of them. */
function isPassing(
  { starts, ends }: DisturbanceCase,
  rows: readonly number[],
  i: number,
  first: number,
  { run, intervalSeconds }: KeyingSignal,
): boolean {
  const [low, high] = [runEnd(run, first + i, -1), runEnd(run, first + i, 1)];
  if (ends[high]! - starts[low]! > 1.2 * intervalSeconds) return false;
  const before = rows[low - 1 - first] ?? 0;
  const after = rows[high + 1 - first] ?? 0;
  return (rows[i]! - before) * (after - rows[i]!) > 0;
}

/** Of two logs the slower has to have looked a few times: until then their difference is that of two moments. */
function settled(
  { starts, ends }: DisturbanceCase,
  k: number,
  { run, wholeRun, intervalSeconds }: KeyingSignal,
): boolean {
  return !wholeRun || ends[runEnd(run, k, 1)]! - starts[runEnd(run, k, -1)]! > 2.5 * intervalSeconds;
}

/** For how long a log shows the level that it shows in stretch k. */
const lasts = ({ starts, ends }: DisturbanceCase, { run }: KeyingSignal, k: number): Seconds =>
  ends[runEnd(run, k, 1)]! - starts[runEnd(run, k, -1)]!;

/** A log that looked but once at a level says less of it than one that looked often, and is asked where none did. */
function heardOf(given: DisturbanceCase, cast: readonly Vote[], k: number): Vote[] {
  if (given.signals.some((signal, s) => signal.overRange[k] === 1 && cast[s] === "higher")) return [...cast];
  const often = cast.map(
    (vote, s) => vote !== null && lasts(given, given.signals[s]!, k) > 1.5 * given.signals[s]!.intervalSeconds,
  );
  return often.includes(true) ? cast.map((vote, s) => (often[s] ? vote : null)) : [...cast];
}

/**
 * The largest change from one stretch to the next, those left out in which the current was gone: a contact gives way at
 * once, and what comes slowly is the regulator's.
 */
function largestJump(heights: readonly number[], least: number, signal: KeyingSignal, first: number): number {
  let largest = 0;
  let before = Number.NaN;
  heights.forEach((height, i) => {
    if (Number.isNaN(height) || height < least) return;
    if (!Number.isNaN(before)) {
      const change = Math.abs(height - before);
      largest = Math.max(largest, heights[i - 1] === before ? atOnce(signal, first + i, change) : change);
    }
    before = height;
  });
  return largest;
}

/** Volts across the load decide: a contact that gives way pulls them down, a load that lets go lets them up. */
function verdict(given: DisturbanceCase, cast: readonly Vote[], k: number): Disturbance {
  const { signals } = given;
  // Battery less load sees the whole run and no other load: where it was seen, volts at the load add nothing.
  const whole = cast.some((vote, s) => vote !== null && signals[s]!.wholeRun);
  const votes = whole ? cast.map((vote, s) => (signals[s]!.sight === "load" ? null : vote)) : cast;
  if (votes.includes("higher")) return "contact-break";
  const load = votes.findIndex((vote, s) => (signals[s]!.sight === "load" || signals[s]!.wholeRun) && vote !== null);
  if (load >= 0) return votes[load] === "gone" && !stillFlows(given, votes, load, k) ? "load-reset" : null;
  // Other loads and the charging move the battery too: it is asked where nothing else was seen.
  const better = votes.filter((vote, s) => vote !== null && signals[s]!.sight !== "battery");
  const asked = better.length > 0 ? better : votes;
  const count = (wanted: Vote) => asked.filter((vote) => vote === wanted).length;
  return count("gone") > count("usual") + count("partly") ? "load-reset" : null;
}

/** Whether a clamp, else the drops, that looked as closely as the volts at the load did, show the current that these miss. */
function stillFlows(given: DisturbanceCase, votes: readonly Vote[], load: number, k: number): boolean {
  const seconds = lasts(given, given.signals[load]!, k);
  const closely = ({ intervalSeconds }: KeyingSignal) => seconds > 1.5 * intervalSeconds;
  const said = [isClamp, isDrop]
    .map((belongs) =>
      votes.filter((vote, s) => vote !== null && belongs(given.signals[s]!) && closely(given.signals[s]!)),
    )
    .find(isHeard);
  return said?.every((vote) => vote !== "gone") ?? false;
}
