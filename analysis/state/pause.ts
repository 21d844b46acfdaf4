/**
 * Pauses in keying that are no release: a set that lets go and comes back, an open contact, a breath in speech.
 */
import type { Seconds, Volts } from "../units.ts";

export interface PauseCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  /** 1 where found keyed */
  readonly keyed: Uint8Array;
  /** volts at the load, NaN where not seen, and the least it stands as declared */
  readonly loadVolts: Float64Array;
  readonly minimumVolts: Volts | null;
  readonly pulsed: boolean;
  /** 1 where less current flowed than an idle set draws, or no volts stood at the load: nobody's hand does that */
  readonly interrupted: Uint8Array;
  /** of the fastest log: what is seen of a pause is up to this much off */
  readonly intervalSeconds: Seconds;
}

export interface Pause {
  readonly first: number;
  readonly last: number;
}

/** Common practice: a hand that keys for a test does not let go for less than about two seconds. */
const shortestRelease: Seconds = 1.8;
/** Between bursts as short as these a pause may be longer and still be the set's, not the hand's. */
const shortBurst: Seconds = 2.2;
const shortBurstPause: Seconds = 2.4;
/** Where the load's volts are near its minimum, a set may need this long to come back. */
const resetPause: Seconds = 4;
const interruptedPause: Seconds = 12;
const speechPause: Seconds = 3;
/** So many pauses so short, with bursts so short between them, are a set that cycles. */
const leastCycles = 2;
const cyclePause: Seconds = 1.5;
const cycleBurst: Seconds = 3;
const nearMinimum: Volts = 0.4;
const farAboveMinimum: Volts = 1;

export function pausesIn(given: PauseCase): Pause[] {
  const seen = candidates(given);
  const kept = seen.filter((pause, i) => cycles(given, seen, i) || belongs(given, pause));
  return [...kept, ...cutOffs(given)].sort((a, b) => a.first - b.first);
}

/** One of several pauses too short for a hand, one soon after another: a set that lets go and comes back, whatever its volts. */
function cycles({ intervalSeconds }: PauseCase, seen: readonly Candidate[], i: number): boolean {
  const slack = Math.min(intervalSeconds, 1);
  const brief = (at: number) => (seen[at]?.seconds ?? Number.POSITIVE_INFINITY) < cyclePause + slack / 2;
  const joined = (at: number) => (seen[at]?.burstBefore ?? Number.POSITIVE_INFINITY) < cycleBurst + slack;
  if (!brief(i)) return false;
  let count = 1;
  for (let at = i; joined(at) && brief(at - 1); at--) count++;
  for (let at = i + 1; joined(at) && brief(at); at++) count++;
  return count >= leastCycles;
}

/** A transmission that ends in an interruption: the key was let go while the set was still without its current. */
function cutOffs({ keyed, interrupted, starts, ends }: PauseCase): Pause[] {
  const found: Pause[] = [];
  for (let k = 1; k < keyed.length; k++) {
    if (keyed[k] === 1 || keyed[k - 1] === 0 || interrupted[k] === 0) continue;
    let last = k;
    while (last + 1 < keyed.length && keyed[last + 1] === 0 && interrupted[last + 1] === 1) last++;
    const released = last + 1 < keyed.length && keyed[last + 1] === 0;
    if (released && ends[last]! - starts[k]! < resetPause * 2) found.push({ first: k, last });
    k = last;
  }
  return found;
}

interface Candidate extends Pause {
  readonly seconds: Seconds;
  /** the shorter of the bursts on either side */
  readonly burst: Seconds;
  readonly burstBefore: Seconds;
}

function candidates({ keyed, starts, ends }: PauseCase): Candidate[] {
  const found: Candidate[] = [];
  let burstBefore = 0;
  for (let k = 0; k < keyed.length; ) {
    let last = k;
    while (last + 1 < keyed.length && keyed[last + 1] === keyed[k]) last++;
    const seconds = ends[last]! - starts[k]!;
    if (keyed[k] === 1) {
      const previous = found[found.length - 1];
      if (previous?.last === k - 1) found[found.length - 1] = { ...previous, burst: Math.min(previous.burst, seconds) };
      burstBefore = seconds;
    } else if (k > 0 && last + 1 < keyed.length) {
      found.push({ first: k, last, seconds, burst: burstBefore, burstBefore });
    }
    k = last + 1;
  }
  return found;
}

function belongs(given: PauseCase, pause: Candidate): boolean {
  // A slow log cannot tell a pause from a release: only what the load's volts explain is given the whole interval.
  const slack = Math.min(given.intervalSeconds, 1);
  if (pause.seconds < interruptedPause && interruptedShare(given, pause) > 0.6) return true;
  const short = pause.burst < shortBurst + 2 * given.intervalSeconds;
  if (given.pulsed && pause.seconds <= speechPause) return true;
  const above = given.loadVolts[pause.first - 1]! - (given.minimumVolts ?? Number.NaN);
  if (above > farAboveMinimum) return pause.seconds < 0.5 + slack;
  if (above < nearMinimum && short) return pause.seconds < resetPause + 2 * given.intervalSeconds;
  return pause.seconds < (short ? shortBurstPause + slack : shortestRelease);
}

function interruptedShare({ interrupted, starts, ends }: PauseCase, { first, last, seconds }: Candidate): number {
  let sum = 0;
  for (let k = first; k <= last; k++) if (interrupted[k] === 1) sum += ends[k]! - starts[k]!;
  return sum / seconds;
}
