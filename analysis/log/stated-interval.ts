/**
 * The sampling interval that a line above a log's rows states: `Sample interval: 0.5 s`, `Abtastrate;2 Hz`, `采样间隔：2秒`.
 */
import { parseStamp } from "./timestamp.ts";
import { parseUnit, toSi } from "./unit.ts";

/** These name an interval, and a bare number behind them is in seconds. */
const intervalKey =
  /(interval|interwał|интервал|間隔|间隔|간격|sampl\w*[\s_-]*(time|step|period)|period|période|cadence|Δt|\bdt\b|delta[\s_-]?[tx]$|x[\s_-]?increment|abtast(zeit|schritt|ung)|messintervall|log(ging)?[\s_-]*(step|every)|every)/i;
/** What stands behind these must have a unit, which tells an interval from a rate. */
const rateKey =
  /(rate|speed|frequency|frequenz|fréquence|frecuencia|frequenza|cz[eę]stotliwość|частота|レート|周波数|速率|频率|sampling|abtast\w*|échantillonnage|muestreo|campionamento|bemonstering|próbkowanie|サンプリング|采样|取样)/i;

/** `Sampling start: 10:00:00`, `Record length: 60 s` */
const otherTimeKey = /start|begin|end\b|stop|until|date|clock|total|length|duration/i;

export interface Said {
  readonly text: string;
  readonly key: string;
  readonly value: string;
}

export function intervalOf({ text, key, value }: Said): { seconds: number; text: string } | null {
  const isInterval = intervalKey.test(key);
  if ((!isInterval && !rateKey.test(key)) || otherTimeKey.test(key)) return null;
  const unitInKey = /[([]\s*([^)\]]+)[)\]]/.exec(key)?.[1] ?? "";
  const clock = /^\d+:\d{2}(:\d{2}([.,]\d+)?)?$/.test(value) ? parseStamp(value) : null;
  if (clock?.secondsOfDay) return { seconds: clock.secondsOfDay, text };
  const match = /^([\d.,]+(?:[eE][+-]?\d+)?)\s*(.*)$/s.exec(value);
  const number = Number((match?.[1] ?? "").replace(",", "."));
  const seconds = secondsOf(number, match?.[2]?.trim() || unitInKey, !isInterval || /rate/i.test(key));
  return seconds !== null && seconds > 0 && Number.isFinite(seconds) ? { seconds, text } : null;
}

const perSecond =
  /^(k|m)?\s*(hz|s\/s|sa\/s|sps|(samples?|readings?|scans?)\s*(\/|per)\s*s(ec(ond)?)?|\/s|1\/s|per second)(?![a-z])/i;
const perMinute = /^((samples?|readings?|scans?)\s*(\/|per)\s*min(ute)?|sa?\/min|\/min|1\/min|per minute)(?![a-z])/i;

function secondsOf(number: number, unitText: string, isRate: boolean): number | null {
  if (!(number > 0)) return null;
  const rate = perSecond.exec(unitText);
  if (rate !== null)
    return 1 / (number * (rate[1] === undefined ? 1 : rate[1] === "M" ? 1e6 : rate[1] === "m" ? 1e-3 : 1000));
  if (perMinute.test(unitText)) return 60 / number;
  const unit = parseUnit(unitText.split(/\s+/)[0] ?? "");
  if (unit?.quantity === "seconds") return toSi(number, unit);
  // A bare rate could be in hertz or in seconds: no honest choice. A bare interval is in seconds.
  return unitText === "" && !isRate ? number : null;
}

/** `X,CH1,Start,Increment` over `Sequence,Volt,-1.2E+00,1.0E-01`: seconds from row to row in a column of its own. */
export function incrementIn(lines: readonly string[]): { seconds: number; text: string } | null {
  for (let i = 0; i + 1 < lines.length; i++) {
    if (!/increment|incr\.|[Δd][xt]\b/i.test(lines[i]!)) continue;
    const names = lines[i]!.split(/[,;\t|]/);
    const at = names.findIndex((name) => /^[\s"]*([xt][\s_-]?)?(increment|incr\.|[Δd][xt])[\s"]*$/i.test(name));
    const text = at < 0 ? "" : (lines[i + 1]!.split(/[,;\t|]/)[at] ?? "").replaceAll('"', "").trim();
    const seconds = /^\d/.test(text) ? Number(text) : 0;
    if (seconds > 0 && Number.isFinite(seconds)) return { seconds, text: `${names[at]!.trim()} ${text}` };
  }
  return null;
}
