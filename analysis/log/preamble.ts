/**
 * What the lines before the header say of the log: sampling interval, date and time of the start, unit.
 */
import { incrementIn, intervalOf, type Said } from "./stated-interval.ts";
import { epochOfStamp, parseStamp, type Stamp } from "./timestamp.ts";
import { parseUnit, type Unit } from "./unit.ts";
import { withYearFirst, yearsStandFirst } from "./year-first.ts";

export interface PreambleFacts {
  readonly intervalSeconds: number | null;
  /** the line that said so */
  readonly intervalText: string | null;
  /** Unix time of the start, read as if at Greenwich where no zone stands; null: none, or a date that can be read two ways */
  readonly startEpochSeconds: number | null;
  readonly startText: string | null;
  /** Unix time of the midnight before the start, where the preamble names at least its date */
  readonly midnightEpochSeconds: number | null;
  readonly unit: Unit | null;
}

const startKey = /(start|begin|date|time|datum|zeit|created|recorded|beginn|début|fecha|inicio)/i;
const unitKey = /(unit|einheit|unité|unidad|function|funktion|measur\w*|mode)/i;

/** A preamble says what it has to say in its first lines or just above the header; no more is read. */
const linesRead = 200;

export function readPreamble(lines: readonly string[]): PreambleFacts {
  const read = lines.length > 2 * linesRead ? [...lines.slice(0, linesRead), ...lines.slice(-linesRead)] : lines;
  const said = read.map(keyAndValue).filter((pair) => pair !== null);
  const interval = said.flatMap((pair) => intervalOf(pair) ?? [])[0] ?? incrementIn(read);
  const start = startOf(said);
  const unit = said.flatMap(({ key, value }) => (unitKey.test(key) ? (unitIn(value) ?? []) : []))[0];
  return {
    intervalSeconds: interval?.seconds ?? null,
    intervalText: interval?.text ?? null,
    startEpochSeconds: start?.epoch ?? null,
    startText: start?.text ?? null,
    midnightEpochSeconds: start?.midnight ?? null,
    unit: unit ?? null,
  };
}

/** Whether a line by itself states the sampling interval. */
export function statesInterval(line: string): boolean {
  const said = keyAndValue(line);
  return said !== null && intervalOf(said) !== null;
}

/** `Function: AC Voltage` says nothing of the scale, but that it is AC. */
function unitIn(value: string): Unit | null {
  const unit = parseUnit(value);
  if (unit !== null || !/(^|[^a-z])AC([^a-z]|$)/i.test(value) || /(^|[^a-z])DC([^a-z]|$)/i.test(value)) return unit;
  const quantity = /volt|spannung|tens/i.test(value)
    ? "volts"
    : /curr|amp|strom|cour|corr/i.test(value)
      ? "amps"
      : null;
  return quantity === null ? null : { text: value, quantity, multiply: 1, divide: 1, alternating: true };
}

/** `Sample interval: 0.5 s`, `Interval (ms);500`, `# dt = 0,1 s`. */
function keyAndValue(line: string): Said | null {
  const text = line
    .trim()
    .replace(/^[#%;/*"\s]+/, "")
    .replace(/[;,\t|"\s]+$/, "");
  const match =
    /^([^\d:：=;,\t|"]{2,60}?)"?\s*[:：=;,\t|]+\s*"?(.*\S)$/s.exec(text) ?? /^(\D{2,40}?)\s+(\d.*)$/s.exec(text);
  if (match === null || text.length > 200) return null;
  return { text, key: match[1] ?? "", value: (match[2] ?? "").replace(/[";\t|]+|,(?!\d)|(?<!\d),/g, " ").trim() };
}

interface Start {
  /** null: only the date is named */
  readonly epoch: number | null;
  readonly midnight: number;
  readonly text: string;
}

const day = 86_400;

/** A year of two digits put where it stands; null where that is in doubt. */
function withYearPlaced(stamp: Stamp | null): Stamp | null {
  if (stamp?.date == null) return stamp;
  const first = yearsStandFirst([stamp.date]);
  if (first === "no") return stamp;
  return first === "yes" ? { ...stamp, date: withYearFirst(stamp.date) } : null;
}

function startOf(said: readonly Said[]): Start | null {
  let date: { midnight: number; text: string } | null = null;
  for (const { text, key, value } of said) {
    const stamp = startKey.test(key) ? withYearPlaced(parseStamp(value)) : null;
    if (stamp === null) continue;
    const [dayFirst, monthFirst] = [epochOfStamp(stamp, true), epochOfStamp(stamp, false)];
    const twoWays = dayFirst !== null && monthFirst !== null && dayFirst !== monthFirst;
    const epoch = dayFirst ?? monthFirst;
    if (epoch !== null && stamp.secondsOfDay !== null && !twoWays) {
      return { epoch, midnight: Math.floor(epoch / day) * day, text };
    }
    if (epoch !== null && !twoWays) date = { midnight: epoch, text };
    else if (stamp.date === null && stamp.secondsOfDay !== null && date !== null) {
      return { epoch: date.midnight + stamp.secondsOfDay, midnight: date.midnight, text: `${date.text}; ${text}` };
    }
  }
  return date === null ? null : { epoch: null, ...date };
}
