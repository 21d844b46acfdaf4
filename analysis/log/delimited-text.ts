/**
 * A record of delimited text cut into cells. papaparse reads every record that holds a quote;
 * a record without one is cut at its delimiters, which is the same thing (tests hold the two against each other).
 */
import Papa from "papaparse";

export const delimiters = [",", ";", "\t", "|", " "] as const;
/** `" "` stands for a run of blanks and tabs; any other single character cuts at each one. */
export type Delimiter = string;

export const delimiterNames: Record<string, string> = {
  ",": "comma",
  ";": "semicolon",
  "\t": "tab",
  "|": "pipe",
  " ": "blanks",
};

export function splitCells(record: string, delimiter: Delimiter): string[] {
  if (!record.includes('"')) {
    return delimiter === " " ? record.trim().split(/[ \t]+/) : record.split(delimiter);
  }
  const text = delimiter === " " ? record.trim().replace(/[ \t]+(?=(?:[^"]*"[^"]*")*[^"]*$)/g, " ") : record;
  return papaCells(text, delimiter);
}

/** Blanks before a quoted cell are no part of it, though RFC 4180 says that they are: meters pad. */
function papaCells(record: string, delimiter: Delimiter): string[] {
  const { data } = Papa.parse<string[]>(unpadded(record, delimiter), { delimiter, newline: "\n", quoteChar: '"' });
  return (data.length <= 1 ? (data[0] ?? [""]) : data.flat()).map(plainText);
}

/** `="12.55"`: a text that a spreadsheet shall not change. */
const plainText = (cell: string): string => /^\s*="([^"]*)"\s*$/.exec(cell)?.[1] ?? cell;

function unpadded(record: string, delimiter: Delimiter): string {
  let kept = "";
  let inside = false;
  let cellStart = true;
  for (let i = 0; i < record.length; i++) {
    const letter = record[i]!;
    if (letter === " " && cellStart && !inside && /^ +"/.test(record.slice(i))) continue;
    // A quote right after a quote is a doubled one: the cell goes on.
    if (letter === '"' && (inside || cellStart || record[i - 1] === '"')) inside = !inside;
    cellStart = letter === delimiter && !inside;
    kept += letter;
  }
  return kept;
}
