/**
 * What happened in a log, and when by its own clock: keyed, released, engine start and stop, resets, broken contacts.
 */

import type { Seconds } from "../units.ts";
import type { Judgement } from "./judgement.ts";
import type { EventKind, LogEvent } from "./plateau.ts";
import { overRangeBefore, pausedBefore } from "./plateaus.ts";
import type { PreparedLog } from "./stretch.ts";

/**
 * Events of one log of a judged group, in order of time; those outside the log's own time are left out.
 * @param place the log's place in its group
 */
export function eventsOf(judged: Judgement, place: number, log: PreparedLog): LogEvent[] {
  const events: LogEvent[] = [];
  for (let k = 1; k < judged.stretches.length; k++) {
    const seconds = momentOf(judged, place, log, k);
    if (seconds === null) continue;
    for (const event of eventsAt(judged, k)) events.push({ ...event, seconds });
  }
  return events;
}

/** When stretch k began by this log's own clock, as it shows itself or the group better; null where that lies outside the log. */
function momentOf(judged: Judgement, place: number, log: PreparedLog, k: number): Seconds | null {
  const { seconds } = log.samples;
  const look = judged.stretches[k]!.looks[place]!;
  const before = judged.stretches[k - 1]!.looks[place]!;
  if (before.to <= 0 || look.from >= seconds.length) return null;
  const { startSeconds, rate, uncertaintySeconds } = judged.group[place]!;
  const { began } = judged.stretches[k]!;
  const told = Math.hypot(began.uncertainty, uncertaintySeconds);
  const dated = look.from > 0 && look.from === before.to && !pausedBefore(log, look.from);
  const seen = dated && overRangeBefore(log, look.from) === undefined;
  const own = seen && look.segment !== before.segment ? log.edgeMoment(look.from) : null;
  const shared = (began.seconds - startSeconds) / rate;
  const moment = own !== null && own.uncertainty <= told ? own.seconds : shared;
  return moment > 0 && moment < seconds[seconds.length - 1]! ? moment : null;
}

function eventsAt(judged: Judgement, k: number): Omit<LogEvent, "seconds">[] {
  const found: Omit<LogEvent, "seconds">[] = [];
  const add = (kind: EventKind, more: Partial<LogEvent> = {}) => found.push({ kind, ...more });
  const [was, is] = [judged.radio[k - 1], judged.radio[k]];
  if (is === "transmit" && was === "idle") add("keyed");
  if (is === "idle" && was === "transmit") add("released");
  addEngine(judged, k, add);
  const disturbance = judged.disturbance[k];
  if (disturbance !== null && disturbance !== judged.disturbance[k - 1]) {
    const volts = judged.loadVolts[k - 1]!;
    if (disturbance === "load-reset" && !Number.isNaN(volts)) add("load-reset", { lowestVolts: volts });
    else add(disturbance!);
  }
  return found;
}

function addEngine(judged: Judgement, k: number, add: (kind: EventKind, more?: Partial<LogEvent>) => void): void {
  const crank = judged.cranks.find((each) => each.last === k - 1);
  const before = lastKnown(judged.engine, k - 1);
  const now = judged.engine[k];
  if (crank !== undefined && now === "running") add("engine-start", { lowestVolts: crank.lowestVolts });
  else if (before === "off" && now === "running") add("engine-start");
  else if (before === "running" && now === "off" && !startsCrank(judged, k)) add("engine-stop");
}

const startsCrank = (judged: Judgement, k: number): boolean => judged.cranks.some((crank) => crank.first === k);

/** The state before a stretch, undecided ones passed over: they end where the evidence does. */
function lastKnown(engine: Judgement["engine"], from: number): Judgement["engine"][number] {
  for (let k = from; k >= 0; k--) if (engine[k] !== null) return engine[k]!;
  return null;
}
