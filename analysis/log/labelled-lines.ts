/**
 * Lines above a log's rows that begin with the word for what they hold: `Name;Battery;Drop`, `Unit;V;mV`, `Range;20;500`.
 * Read as plain headers they name no columns, and millivolts among them would pass for volts.
 */
import type { HeadRecord } from "./layout.ts";
import { parseUnit } from "./unit.ts";

export interface LabelledLines {
  readonly header: readonly string[];
  readonly unitRow: readonly string[];
  /** index of the line that names, or else gives the units */
  readonly headerAt: number;
  /** index of the first of them */
  readonly firstAt: number;
}

const unitLabel =
  /^(units?|einheit(en)?|unités?|unidad(es)?|unità|eenhe(id|den)|jednostka|enhet|единиц[аы]|単位|单位)$/i;
/** The first of these that is there names the columns. */
const nameLabels = [
  /^(names?|bezeichnung|nom|nombre|nome|naam|label|signal|description|название|名前|名称)$/i,
  /^(ch(annels?)?|kan(al|äle|aal)|canal|sensor|input|column)$/i,
];
const timeName = /time|zeit|temps|tiempo|tempo|tijd|^t\b|время|時間|时间/i;
const mostLines = 12;

/** @param cellsOf cuts a line into one cell a column; null where it has another number of cells */
export function labelledLines(
  records: readonly HeadRecord[],
  bodyAt: number,
  cellsOf: (text: string) => readonly string[] | null,
): LabelledLines | null {
  const lines: { at: number; cells: readonly string[] }[] = [];
  for (let at = bodyAt - 1; at >= 0 && lines.length < mostLines; at--) {
    const { text } = records[at]!;
    if (/^[\s\-=+|;,_]*$/.test(text)) continue;
    const cells = cellsOf(text);
    if (cells === null) break;
    lines.push({ at, cells });
  }
  const labelled = (label: RegExp) => lines.find(({ cells }) => label.test(cells[0]!.trim().replace(/:$/, "")));
  const units = labelled(unitLabel);
  if (units === undefined || !units.cells.slice(1).some((cell) => parseUnit(cell) !== null)) return null;
  const names = nameLabels.flatMap((label) => labelled(label) ?? [])[0];
  const time = lines.find(({ cells }) => timeName.test(cells[0]!))?.cells[0] ?? "";
  return {
    header: [time, ...(names ?? units).cells.slice(1)],
    unitRow: ["", ...units.cells.slice(1)],
    headerAt: (names ?? units).at,
    firstAt: lines.at(-1)!.at,
  };
}
