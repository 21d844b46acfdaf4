/**
 * Rows that are no plain cells: labelled ones (`t=0.5 V=12.55`), those behind a bracketed time (`[10:00:00] 12.55 V`), sentences of NMEA 0183 (`$IIXDR,U,12.154,V,MAIN*..`).
 * Goes in: a row as it stands. Comes out: the row as plain cells, so that all the rest reads it as any other.
 */
import { splitCells } from "./delimited-text.ts";
import { parseStamp } from "./timestamp.ts";

export type RowForm = "plain" | "labelled" | "bracketed" | "sentence";

/** A label stands at the start of a cell, in one word or, behind a mark that cuts cells, in several. */
const label =
  /(^|[,;|\t]\s*)[\p{L}_][\p{L}\p{N}_.()/%-]*(?: [\p{L}_(][\p{L}\p{N}_.()/%-]*)*\s*[=:]\s*|(\s)[\p{L}_][\p{L}\p{N}_.()/%-]*\s*[=:]\s*/gu;
const labelledCell = /^\s*([\p{L}_][\p{L}\p{N}_ .()/%-]*?)\s*[=:]\s*(.*)$/su;
/** Label and value; a comma ends the value unless a digit follows. */
const labelledNumber = /(?:^|[\s,;|])[\p{L}_][\p{L}\p{N}_.()/%-]*\s*[=:]\s*[+\-−.]?\d[^\s;|]*?(?=[\s;|]|,(?!\d)|$)/gu;
const sentence = /^(.*?)[\s,;|]*\$([A-Z]{2}XDR,[^*$]*?)(?:\*([\dA-F]{2}))?\s*$/i;

/** What a terminal puts before each line: `[2026-03-04 10:00:00.5] `, `(0.512) `. */
const bracketed = /^\s*(?:\[([^\][]{1,40})\]|\(([^()]{1,40})\)):?\s+(?=\S)/;

/** Longer ones are neither: a sentence has 82 characters at most (from memory). */
const longestRow = 1000;

/** @param rows of the body, as many as are worth looking at */
export function formOfRows(rows: readonly string[]): RowForm {
  const share = (is: (row: string) => boolean) =>
    rows.filter((row) => row.length <= longestRow && is(row)).length / rows.length;
  // Sentences of other instruments may stand between.
  if (share((row) => sentence.test(row)) > 0.1 && share((row) => row.includes("$")) > 0.5) return "sentence";
  if (share(isLabelled) > 0.6) return "labelled";
  return share(isBracketed) > 0.6 ? "bracketed" : "plain";
}

function isBracketed(row: string): boolean {
  const [, square, round] = bracketed.exec(row) ?? [];
  const inside = (square ?? round ?? "").trim();
  return /^\d+(?:[.,]\d+)?(?: ?m?s)?$/.test(inside) || parseStamp(inside) !== null;
}

/** Every number has its label, but for a stamp before them. */
function isLabelled(row: string): boolean {
  const rest = row.replace(labelledNumber, " ");
  if (rest === row) return false;
  const bare = rest.replace(/^[\s,;|]+|[\s,;|]+$/g, "");
  return !/\d/.test(bare) || parseStamp(bare) !== null;
}

const withoutBrackets = (row: string): string => (isBracketed(row) ? row.replace(bracketed, "$1$2 ") : row);

/** The row as plain cells; null for a sentence of another kind, or one whose checksum is wrong. */
export function plainRow(form: RowForm, row: string): string | null {
  if (form === "plain" || row.length > longestRow) return row;
  if (form === "bracketed") return row.replace(bracketed, "$1$2 ");
  return form === "labelled" ? withoutBrackets(row).replace(label, "$1$2") : plainSentence(row);
}

/** Source: open-formats, section 2: the checksum is the exclusive or of what stands between `$` and `*`; prefixes are tolerated. */
function plainSentence(row: string): string | null {
  const match = sentence.exec(row);
  if (match === null) return row.includes("$") ? null : row;
  const [, before = "", said = "", checksum] = match;
  if (checksum !== undefined && checksumOf(said) !== Number.parseInt(checksum, 16)) return null;
  return before.trim() === "" ? said : `${before.trim()},${said}`;
}

const checksumOf = (said: string): number => [...said].reduce((sum, letter) => sum ^ letter.charCodeAt(0), 0);

/** The labels of a row's cells, empty where a cell has none. */
export const labelsOf = (row: string, delimiter: string): string[] =>
  labelledCells(row, delimiter).map(({ label: own }) => own);

/**
 * The values of a row in the order of the labels, whatever their order in the row; empty where it has none of that label.
 * @returns null where it has none of the labels at all
 */
export function valuesByLabel(row: string, delimiter: string, labels: readonly string[]): string[] | null {
  const cells = labelledCells(row, delimiter);
  const inOrder = cells.length === labels.length && cells.every((cell, k) => cell.label === labels[k]);
  if (inOrder) return cells.map(({ value }) => value);
  const values = labels.map((wanted, k) =>
    wanted === "" ? (cells[k]?.label === "" ? cells[k].value : "") : cells.find((cell) => cell.label === wanted)?.value,
  );
  return labels.some((wanted, k) => wanted !== "" && values[k] !== undefined)
    ? values.map((value) => value ?? "")
    : null;
}

function labelledCells(row: string, delimiter: string): { label: string; value: string }[] {
  const joined = withoutBrackets(row)
    .replace(/\s*=\s*/g, "=")
    .replace(/(?<=[\p{L}\p{N}_)%]):\s+(?=[+\-−.]?\d)/gu, ":");
  return splitCells(joined, delimiter).map((cell) => {
    const match = labelledCell.exec(cell);
    return match === null ? { label: "", value: cell } : { label: match[1]!, value: match[2]! };
  });
}
