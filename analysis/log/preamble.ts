/**
 * What the lines before the header say of the log: sampling interval, date and time of the start, unit.
 */
import { epochOfStamp, parseStamp } from "./timestamp.ts";
import { parseUnit, toSi, type Unit } from "./unit.ts";

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

const intervalKey =
  /(interval|sampl\w*[\s_-]*(time|step|period)|period|Δt|\bdt\b|abtast\w*|messintervall|log(ging)?[\s_-]*(step|every)|every)/i;
const rateKey = /(sampl\w*|log\w*|scan|record\w*|acquisition|abtast\w*)?[\s_-]*(rate|frequency|rate|frequenz)/i;
const startKey = /(start|begin|date|time|datum|zeit|created|recorded|beginn|début|fecha|inicio)/i;
const unitKey = /(unit|einheit|unité|unidad|function|funktion|measur\w*|mode)/i;

/** A preamble says what it has to say in its first lines or just above the header; no more is read. */
const linesRead = 200;

export function readPreamble(lines: readonly string[]): PreambleFacts {
  const read = lines.length > 2 * linesRead ? [...lines.slice(0, linesRead), ...lines.slice(-linesRead)] : lines;
  const said = read.map(keyAndValue).filter((pair) => pair !== null);
  const interval = said.flatMap((pair) => intervalOf(pair) ?? [])[0];
  const start = startOf(said);
  const unit = said.flatMap(({ key, value }) => (unitKey.test(key) ? (parseUnit(value) ?? []) : []))[0];
  return {
    intervalSeconds: interval?.seconds ?? null,
    intervalText: interval?.text ?? null,
    startEpochSeconds: start?.epoch ?? null,
    startText: start?.text ?? null,
    midnightEpochSeconds: start?.midnight ?? null,
    unit: unit ?? null,
  };
}

interface Said {
  readonly text: string;
  readonly key: string;
  readonly value: string;
}

/** `Sample interval: 0.5 s`, `Interval (ms);500`, `# dt = 0,1 s`. */
function keyAndValue(line: string): Said | null {
  const text = line
    .trim()
    .replace(/^[#%;/*"\s]+/, "")
    .replace(/[;,\t|"\s]+$/, "");
  const match =
    /^([^\d:=;,\t|"]{2,60}?)"?\s*[:=;,\t|]+\s*"?(.*\S)$/s.exec(text) ?? /^(\D{2,40}?)\s+(\d.*)$/s.exec(text);
  if (match === null || text.length > 200) return null;
  return { text, key: match[1] ?? "", value: (match[2] ?? "").replace(/[";\t|]+|,(?!\d)|(?<!\d),/g, " ").trim() };
}

function intervalOf({ text, key, value }: Said): { seconds: number; text: string } | null {
  const isRate = rateKey.test(key);
  if (!isRate && !intervalKey.test(key)) return null;
  const unitInKey = /[([]\s*([^)\]]+)[)\]]/.exec(key)?.[1] ?? "";
  const clock = /^\d+:\d{2}(:\d{2}([.,]\d+)?)?$/.test(value) ? parseStamp(value) : null;
  if (clock?.secondsOfDay) return { seconds: clock.secondsOfDay, text };
  const match = /^([\d.,]+(?:[eE][+-]?\d+)?)\s*(.*)$/s.exec(value);
  const number = Number((match?.[1] ?? "").replace(",", "."));
  const seconds = secondsOf(number, match?.[2]?.trim() || unitInKey, isRate);
  return seconds !== null && seconds > 0 && Number.isFinite(seconds) ? { seconds, text } : null;
}

function secondsOf(number: number, unitText: string, isRate: boolean): number | null {
  if (!(number > 0)) return null;
  const rate =
    /^(k|m)?\s*(hz|s\/s|sa\/s|sps|samples?\s*(\/|per)\s*s(ec(ond)?)?|\/s|1\/s|per second|readings?\s*\/\s*s)\b/i.exec(
      unitText,
    );
  if (rate !== null) return 1 / (number * (rate[1]?.toLowerCase() === "k" ? 1000 : 1));
  const unit = parseUnit(unitText.split(/\s+/)[0] ?? "");
  if (unit?.quantity === "seconds") return toSi(number, unit);
  // A bare rate could be in hertz or in seconds: no honest choice. A bare interval is in seconds.
  return unitText === "" && !isRate ? number : null;
}

interface Start {
  /** null: only the date is named */
  readonly epoch: number | null;
  readonly midnight: number;
  readonly text: string;
}

const day = 86_400;

function startOf(said: readonly Said[]): Start | null {
  let date: { midnight: number; text: string } | null = null;
  for (const { text, key, value } of said) {
    const stamp = startKey.test(key) ? parseStamp(value) : null;
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
