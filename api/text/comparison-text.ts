/** Before and after: what the repair gained, part by part, and whether it held. */
import { type Comparison, percent, withInterval } from "../../analysis/index.ts";
import { cell, cellRight, safe, wrapped } from "./page.ts";

/** Changes less certain than this are more likely the measurement's than the part's. */
const certain = 0.9;
/** Where no single part is that certain, those that may have changed instead: one of them has, or none. */
const possible = 0.1;

export function comparisonLines(comparison: Comparison | null): string[] {
  if (comparison === null) return [];
  const { from, to, loadVoltsGained, parts, repairHeld } = comparison;
  const sure = parts.filter(({ changeIsReal }) => changeIsReal >= certain);
  const changed = sure.length > 0 ? sure : parts.filter(({ changeIsReal }) => changeIsReal >= possible);
  return [
    ...wrapped("", `Before and after: '${from}' against '${to}'`),
    ...wrapped("  ", heldWords(repairHeld)),
    ...(loadVoltsGained === null
      ? []
      : wrapped("  ", `At the set, keyed: ${withInterval(loadVoltsGained, "V")} gained.`)),
    ...(sure.length === 0 && changed.length > 0
      ? wrapped("  ", "The readings do not single out a part that has changed. It may be:")
      : []),
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
