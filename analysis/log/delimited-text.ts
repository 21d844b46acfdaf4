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

/** Blanks around a quoted cell are no part of it, though RFC 4180 says that they are: meters pad. */
function papaCells(record: string, delimiter: Delimiter): string[] {
  const tidy = delimiter === " " ? record : record.replace(padding(delimiter), "$1$2");
  const { data } = Papa.parse<string[]>(tidy, { delimiter, newline: "\n", quoteChar: '"' });
  return data.length <= 1 ? (data[0] ?? [""]) : data.flat();
}

const paddings = new Map<string, RegExp>();

function padding(delimiter: string): RegExp {
  let pattern = paddings.get(delimiter);
  if (pattern === undefined) {
    const mark = delimiter.replace(/[\\^$.*+?()[\]{}|]/g, "\\$&");
    pattern = new RegExp(`(^|${mark}) +(")`, "g");
    paddings.set(delimiter, pattern);
  }
  return pattern;
}
