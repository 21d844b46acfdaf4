/**
 * The potential profile in characters: the circuit runs down the page, the volts lost on the way run across it.
 * The line steps right at each part by what the part loses: ▒ as far as a sound one would, █ what is too much.
 * ??? is what one of several parts loses, the readings cannot tell which: the line steps behind the last of them.
 * Dots are where the line would stand if every part were sound; the bad part is a cliff.
 */
import {
  dropLimitVolts,
  engineWords,
  fixed,
  isLoad,
  isPart,
  isPoint,
  type Job,
  kindWords,
  type Part,
  type PartEntry,
  plainVolts,
  pointWords,
  type RoundDiagnosis,
  radioWords,
  type StateEntry,
  type UncertainQuantity,
  valueForPrint,
} from "../../analysis/index.ts";
import { cell, cellRight, pageColumns, safe } from "./page.ts";

const nameColumns = 26;
const figureColumns = 10;
const chartStart = nameColumns + 2 * figureColumns + 1;
const chartColumns = pageColumns - chartStart;

/** One line of the circuit: what it is, what it loses, and where the two lines stand after it. */
interface Step {
  readonly name: string;
  readonly figure: string;
  readonly soundFigure: string;
  readonly from: number;
  readonly to: number;
  /** where the line would stand after this item if every part were sound */
  readonly ifSound: number;
  readonly soundVolts: number;
  /** volts that are lost here or in one of the other parts that may lose them; 0 for most parts */
  readonly mayLoseVolts: number;
  readonly isPart: boolean;
}

/** @param job the job as its wiring was in this round */
export function potentialProfile(job: Job, round: RoundDiagnosis): string[] {
  const state = keyedState(round);
  const amps = state?.amps?.value ?? job.load.transmitAmps ?? null;
  const steps = stepsRound(job, round, state, amps);
  const limitVolts = dropLimitVolts(job);
  const widest = Math.max(limitVolts, ...steps.flatMap(({ to, ifSound }) => [to, ifSound]));
  const fullVolts = roundUp(widest * 1.02);
  const column = (volts: number) => clamped(Math.round((volts / fullVolts) * (chartColumns - 1)));
  return [
    heading(state, amps),
    cellRight("lost", nameColumns + figureColumns) + cellRight("if sound", figureColumns),
    axis(fullVolts, limitVolts, column),
    ...steps.map((step) => lineOf(step, column, column(limitVolts))),
  ];
}

const clamped = (column: number) => Math.min(chartColumns - 1, Math.max(0, column));

/** The keyed state that is drawn: engine off where it was measured. */
export function keyedState(round: RoundDiagnosis): StateEntry | null {
  const keyed = round.states.filter(({ radio }) => radio === "transmit");
  return keyed.find(({ engine }) => engine === "off") ?? keyed[0] ?? null;
}

function heading(state: StateEntry | null, amps: number | null): string {
  if (state === null) return `Volts lost round the circuit, not measured keyed: expected at ${amps ?? "–"} A`;
  const current = state.amps ? valueForPrint(state.amps, "A") : amps === null ? "amps not known" : `${amps} A`;
  return `Volts lost round the circuit, ${radioWords[state.radio]}, ${engineWords[state.engine]}, ${current}`;
}

function axis(fullVolts: number, limitVolts: number, column: (volts: number) => number): string {
  const end = plainVolts(fullVolts);
  const limit = `limit ${plainVolts(limitVolts)}`;
  const at = Math.min(column(limitVolts), chartColumns - end.length - limit.length - 2);
  const line = `0${at < 3 ? "" : " ".repeat(at - 1) + limit}`;
  return " ".repeat(chartStart) + line + cellRight(end, chartColumns - line.length);
}

function stepsRound(job: Job, round: RoundDiagnosis, state: StateEntry | null, amps: number | null): Step[] {
  const entries = new Map(round.parts.map((part) => [part.id, part]));
  const suspects = new Set(round.findings[0]?.parts);
  const hidden = hiddenLoss(job, round);
  const load = job.loop.findIndex(isLoad);
  const lostInAll = sum(round.parts.map((part) => lostVolts(part, amps))) + hidden.volts;
  let [lost, ifSound] = [0, 0];
  return job.loop.map((item, index) => {
    const entry = isPart(item) ? entries.get(item.id) : undefined;
    const soundVolts = entry ? soundVoltsOf(entry, amps) : 0;
    const from = lost;
    lost += (entry ? lostVolts(entry, amps) : 0) + (index === hidden.last ? hidden.volts : 0);
    ifSound += soundVolts;
    const mayLoseVolts = isPart(item) && hidden.parts.has(item.id) ? hidden.volts : 0;
    const place = { from, to: lost, ifSound, soundVolts, mayLoseVolts, isPart: isPart(item) };
    if (isPoint(item)) {
      const battery = state?.batteryVolts?.value ?? Number.NaN;
      const volts = index > load ? lostInAll - lost : battery - lost;
      const known = state !== null && Number.isFinite(volts) && !(index > hidden.first && index < hidden.last);
      const name = named(pointWords(item.point), known ? `${fixed(volts, 2)} V` : null);
      return { ...place, name, figure: "", soundFigure: "" };
    }
    if (!isPart(item)) {
      const across = state?.loadVolts ? valueForPrint(state.loadVolts, "V") : null;
      return {
        ...place,
        name: named(`  ${item.label ?? job.load.label ?? "load"}`, across),
        figure: "",
        soundFigure: "",
      };
    }
    return {
      ...place,
      name: named(`${suspects.has(item.id) ? "▶ " : "  "}${partName(item)}`, null),
      figure: entry?.dropVolts ? valueForPrint(entry.dropVolts, "V") : "?",
      soundFigure: entry?.expectedOhms && amps !== null ? valueForPrint(times(entry.expectedOhms, amps), "V") : "",
    };
  });
}

interface HiddenLoss {
  /** volts that one of these parts loses, the readings cannot tell which */
  readonly volts: number;
  readonly parts: ReadonlySet<string>;
  /** places of the first and the last of them in the loop; the line steps at the last */
  readonly first: number;
  readonly last: number;
}

/** The likeliest finding's volts, where it is of several parts and none of them has a figure of its own. */
function hiddenLoss(job: Job, { findings, parts }: RoundDiagnosis): HiddenLoss {
  const finding = findings[0];
  const measured = new Set(parts.flatMap(({ id, dropVolts }) => (dropVolts === null ? [] : id)));
  const ofJoint = finding?.cause === "high-resistance-connection" || finding?.cause === "intermittent-connection";
  const ids = ofJoint && finding.dropVolts !== null ? finding.parts.filter((id) => !measured.has(id)) : [];
  const places = job.loop.flatMap((item, index) => (isPart(item) && ids.includes(item.id) ? [index] : []));
  const shared = places.length > 0 && places.length === finding!.parts.length;
  return shared
    ? { volts: finding!.dropVolts!, parts: new Set(ids), first: places[0]!, last: places.at(-1)! }
    : { volts: 0, parts: new Set(), first: 0, last: -1 };
}

/** A name at the left of its column, and at the right the volts that stand there. Leading blanks set parts in under points. */
function named(name: string, volts: string | null): string {
  const [, lead, rest] = /^([▶ ] )?(.*)$/s.exec(name)!;
  const text = (lead ?? "") + safe(rest!);
  return volts !== null ? `${cell(text, nameColumns - volts.length - 1)} ${volts}` : cell(text, nameColumns);
}

/** The id, with what it is where the id does not say it. */
function partName(part: Part): string {
  const kind = kindWords(part);
  const said = part.id.replaceAll(/[-_]/g, " ").toLowerCase().includes(kind.toLowerCase());
  return said ? part.id : `${part.id}, ${kind}`;
}

const times = ({ value, low, high, uncertainty }: UncertainQuantity, factor: number): UncertainQuantity => ({
  value: value * factor,
  low: low * factor,
  high: high * factor,
  uncertainty: uncertainty * factor,
});

const sum = (values: readonly number[]) => values.reduce((total, value) => total + value, 0);

const soundVoltsOf = ({ expectedOhms }: PartEntry, amps: number | null) => (expectedOhms?.value ?? 0) * (amps ?? 0);
/** A part of which nothing was measured is drawn as if sound. */
const lostVolts = (part: PartEntry, amps: number | null) => part.dropVolts?.value ?? soundVoltsOf(part, amps);

function lineOf(step: Step, column: (volts: number) => number, limit: number): string {
  const chart = Array.from({ length: chartColumns }, () => " ");
  chart[limit] = "┊";
  chart[column(step.ifSound)] = "·";
  if (step.isPart) drawRiser(chart, step, column);
  else chart[column(step.to)] = "│";
  const row = step.name + cellRight(step.figure, figureColumns);
  return `${row}${cellRight(step.soundFigure, figureColumns)} ${chart.join("")}`.trimEnd();
}

function drawRiser(chart: string[], step: Step, column: (volts: number) => number): void {
  const { from, to, soundVolts, mayLoseVolts } = step;
  const [start, end] = [column(from), column(mayLoseVolts > 0 ? from + soundVolts + mayLoseVolts : to)];
  if (end === start) chart[start] = "│";
  else if (end < start) chart.fill("◂", end, start);
  else {
    const soundEnd = Math.min(end, Math.max(start, column(from + soundVolts)));
    chart.fill("▒", start, soundEnd);
    chart.fill(mayLoseVolts > 0 ? "?" : "█", soundEnd, end);
  }
}

/** To the next 1, 2 or 5 in the second digit, so that the axis ends on a round figure. */
function roundUp(volts: number): number {
  const step = 10 ** Math.floor(Math.log10(volts)) / 10;
  return Math.ceil(volts / step) * step;
}

/** What the marks mean, once below the profile. */
export const profileKey = "▒ as a sound part loses, █ more than that, ? one of these, · if all were sound";
