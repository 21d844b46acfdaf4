/**
 * The rule of thumb of the trade: each drop at transmit against its limit, in volts, at whatever current flows
 * (reference/voltage-limits.md section 1, "Trade rules for a drop test under load", common practice).
 * It is flattered: it is given the true volts of every state, where the program has logs and meters. A second form knows
 * the trade's figures for battery, charging and current, too (sections 2 and 3).
 */
import { idsBetween, isContact, type LoopItem, type PartItem, partsOf } from "../../fixtures/recipe/loop-item.ts";
import type { TrueRound, TrueState } from "../../fixtures/recipe/truth.ts";
import type { NamedCause } from "./judge.ts";

const wireVolts = 0.2;
const jointVolts = 0.1;
const switchVolts = 0.3;
const pathVolts = 0.5;
/** half charge, section 2 (BCI-type table) */
const halfChargeVolts = 12.24;
/** section 3, "13.2 V", and the diagnosis's own 15.0 V */
const leastChargingVolts = 13.2;
const mostChargingVolts = 15;
const batterySagVolts = 0.5;

export interface MeasuredJob {
  readonly loop: readonly LoopItem[];
  readonly load: { readonly transmitAmps: number };
  readonly recordings: readonly Where[];
  readonly readings: readonly Where[];
}
interface Where {
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
}

/** Every finding in the order of how far it is over its limit; `supply-sound` where nothing is. */
export function textbookFindings(job: MeasuredJob, round: TrueRound, knowsSource: boolean): NamedCause[] {
  const keyed = round.states.find(({ engine, radio }) => engine === "off" && radio === "transmit");
  const drops = keyed === undefined ? [] : dropFindings(job, keyed);
  const over = knowsSource ? [...sourceFindings(job, round), ...drops] : drops;
  const found = over.filter(({ ratio }) => ratio > 1).sort((a, b) => b.ratio - a.ratio);
  if (found.length === 0) return [{ cause: "supply-sound", parts: [], probability: 1 }];
  return found.map(({ cause, parts }) => ({ cause, parts, probability: 1 }));
}

interface Over {
  readonly cause: string;
  readonly parts: readonly string[];
  readonly ratio: number;
}

const measuredAt = (job: MeasuredJob, from: string, to: string): boolean =>
  [...job.recordings, ...job.readings].some((where) => where.from === from && where.to === to);

function sourceFindings(job: MeasuredJob, round: TrueRound): Over[] {
  const state = (engine: string, radio: string) =>
    round.states.find((known) => known.engine === engine && known.radio === radio);
  const [idle, keyed, running] = [state("off", "idle"), state("off", "transmit"), state("running", "idle")];
  const found: Over[] = [];
  const say = (cause: string, parts: readonly string[], ratio: number) => found.push({ cause, parts, ratio });
  if (measuredAt(job, "battery+", "battery-") && idle !== undefined) {
    say("low-charge", [], halfChargeVolts / idle.batteryVolts > 1 ? 3 : 0);
    if (keyed !== undefined) say("weak-battery", [], (idle.batteryVolts - keyed.batteryVolts) / batterySagVolts);
    if (running !== undefined) {
      say("no-charging", [], running.batteryVolts < leastChargingVolts ? 3 : 0);
      say("overcharging", [], running.batteryVolts > mostChargingVolts ? 3 : 0);
    }
  }
  const clamps = new Set([...job.recordings, ...job.readings].flatMap(({ through }) => through ?? []));
  if (clamps.size > 0 && keyed !== undefined) {
    say("excess-load-current", [], keyed.amps > 1.25 * job.load.transmitAmps ? 3 : 0);
    if (clamps.size > 1) say("stray-return", [], keyed.returnAmps < 0.9 * keyed.amps ? 3 : 0);
  }
  return found;
}

function dropFindings(job: MeasuredJob, keyed: TrueState): Over[] {
  const whole = ["battery+ battery-", "load+ load-"];
  const ranges = [...job.recordings, ...job.readings].flatMap(({ from, to }) =>
    from === undefined || to === undefined || whole.includes(`${from} ${to}`) ? [] : [{ from, to }],
  );
  if (ranges.length > 0)
    return ranges.map(({ from, to }) => overLimit(job, idsBetween(job.loop, from, to), drop(keyed, from, to)));
  if (!measuredAt(job, "load+", "load-") || !measuredAt(job, "battery+", "battery-")) return [];
  const all = partsOf(job.loop).map(({ id }) => id);
  return [overLimit(job, all, keyed.batteryVolts - keyed.loadVolts)];
}

const drop = (state: TrueState, from: string, to: string): number =>
  Math.abs(state.pointVolts[from]! - state.pointVolts[to]!);

function overLimit(job: MeasuredJob, ids: readonly string[], dropVolts: number): Over {
  const parts = partsOf(job.loop).filter(({ id }) => ids.includes(id));
  const limit = Math.min(
    pathVolts,
    parts.reduce((sum, part) => sum + limitOf(part), 0),
  );
  const contacts = parts.filter(isContact).map(({ id }) => id);
  return contacts.length > 0
    ? { cause: "high-resistance-connection", parts: contacts, ratio: dropVolts / limit }
    : { cause: "conductor-not-as-declared", parts: ids, ratio: dropVolts / limit };
}

function limitOf(part: PartItem): number {
  if (part.part === "wire") return wireVolts;
  return part.part === "switch" ? switchVolts : jointVolts;
}
