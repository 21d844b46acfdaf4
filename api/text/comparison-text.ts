/** Before and after: what the repair gained, part by part, and whether it held. */
import { type Comparison, percent, withInterval } from "../../analysis/index.ts";
import { cell, cellRight, safe, wrapped } from "./page.ts";

/** Changes less certain than this are left out of the table: more likely the measurement's than the part's. */
const worthShowing = 0.9;

export function comparisonLines(comparison: Comparison | null): string[] {
  if (comparison === null) return [];
  const { from, to, loadVoltsGained, parts, repairHeld } = comparison;
  const changed = parts.filter(({ changeIsReal }) => changeIsReal >= worthShowing);
  return [
    ...wrapped("", `Before and after: '${from}' against '${to}'`),
    ...wrapped("  ", heldWords(repairHeld)),
    ...(loadVoltsGained === null
      ? []
      : wrapped("  ", `At the set, keyed: ${withInterval(loadVoltsGained, "V")} gained.`)),
    ...(changed.length > 0
      ? [
          row("part", "before", "after", "changed"),
          ...changed.map((part) =>
            row(
              part.id,
              withInterval(part.ohmsBefore, "Ω"),
              withInterval(part.ohmsAfter, "Ω"),
              percent(part.changeIsReal),
            ),
          ),
        ]
      : wrapped("  ", "No single part can be shown to have changed.")),
    "",
  ];
}

function heldWords(held: boolean | null): string {
  if (held === null) return "Whether the repair held cannot be told yet.";
  return held
    ? "The repair held: the fault is gone, and the set has the volts that were forecast."
    : "The repair did not hold: the fault is still likely, or the set has not the volts that were forecast.";
}

const row = (part: string, before: string, after: string, real: string) =>
  `  ${cell(safe(part), 20)}${cellRight(before, 24)}${cellRight(after, 24)}${cellRight(real, 10)}`;
