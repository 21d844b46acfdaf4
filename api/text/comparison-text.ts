/** Before and after: what the repair gained, part by part, and whether it held. */
import {
  type Comparison,
  type PartChange,
  percent,
  plainVolts,
  type RoundDiagnosis,
  type UncertainQuantity,
  valueForPrint,
  withInterval,
} from "../../analysis/index.ts";
import { cell, cellRight, safe, wrapped } from "./page.ts";

/** Changes less certain than this are more likely the measurement's than the part's. */
const certain = 0.9;
/** Where no single part is that certain, those that may have changed instead: one of them has, or none. */
const possible = 0.1;

/** @param rounds those that were compared among them: the later one's keyed current makes volts of the ohms */
export function comparisonLines(comparison: Comparison | null, rounds: readonly RoundDiagnosis[]): string[] {
  if (comparison === null) return [];
  const { from, to, loadVoltsGained, parts, repairHeld } = comparison;
  return [
    ...wrapped("", `Before and after: '${from}' against '${to}'`),
    ...wrapped("  ", heldWords(repairHeld)),
    ...(loadVoltsGained === null
      ? []
      : wrapped("  ", `At the set, keyed: ${withInterval(loadVoltsGained, "V")} gained.`)),
    ...changeLines(parts),
    ...dropLines(parts, keyedAmps(rounds.find(({ round }) => round === to))),
    "",
  ];
}

function heldWords(held: boolean | null): string {
  if (held === null) return "Whether a repair held cannot be told: nothing was found to mend, or too little was read.";
  return held
    ? "The repair held: the fault is gone, and the set has the volts that were forecast."
    : "The repair did not hold: the fault is still likely, or the set has not the volts that were forecast.";
}

function changeLines(parts: readonly PartChange[]): string[] {
  const sure = parts.filter(({ changeIsReal }) => changeIsReal >= certain);
  const maybe = parts.filter(({ changeIsReal }) => changeIsReal >= possible && changeIsReal < certain);
  return [
    ...(sure.length > 0
      ? [row("part", "before", "after", "changed"), ...sure.map(partRow)]
      : maybe.length > 0
        ? []
        : wrapped("  ", "No single part can be shown to have changed.")),
    ...maybeLines(maybe),
  ];
}

const keyedAmps = (round: RoundDiagnosis | undefined): UncertainQuantity | null =>
  round?.states.filter(({ radio, amps }) => radio === "transmit" && amps !== null)[0]?.amps ?? null;

/** What the changes are worth at one and the same current. */
function dropLines(parts: readonly PartChange[], amps: UncertainQuantity | null): string[] {
  if (amps === null) return [];
  const each = parts.flatMap(({ id, changeIsReal, ohmsBefore, ohmsAfter }) => {
    if (changeIsReal < certain || ohmsBefore === null || ohmsAfter === null) return [];
    const more = (ohmsAfter.value - ohmsBefore.value) * amps.value;
    return [`${id} drops ${plainVolts(Math.abs(more))} ${more < 0 ? "less" : "more"}`];
  });
  return each.length === 0 ? [] : wrapped("  ", `At ${valueForPrint(amps, "A")} before and after: ${each.join(", ")}.`);
}

/** Parts that the readings cannot tell apart: their ohms one by one would say more than is known. */
function maybeLines(maybe: readonly PartChange[]): string[] {
  if (maybe.length === 0) return [];
  const each = maybe.map(({ id, changeIsReal }) => `${id} (${percent(changeIsReal)})`);
  const total = maybe.reduce((sum, { changeIsReal }) => sum + changeIsReal, 0);
  if (maybe.length === 1) return wrapped("  ", `May have changed: ${each[0]}.`);
  const lead =
    total >= certain ? "One of these has changed, which of them cannot be told" : "One of these may have changed";
  return wrapped("  ", `${lead}: ${each.join(", ")}.`);
}

const partRow = ({ id, ohmsBefore, ohmsAfter, changeIsReal }: PartChange) =>
  row(id, withInterval(ohmsBefore, "Ω"), withInterval(ohmsAfter, "Ω"), percent(changeIsReal));

const row = (part: string, before: string, after: string, real: string) =>
  `  ${cell(safe(part), 20)}${cellRight(before, 24)}${cellRight(after, 24)}${cellRight(real, 10)}`;
