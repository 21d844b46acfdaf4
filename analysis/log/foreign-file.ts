/**
 * Files that are no log at all, known by how they begin: a web page, a spreadsheet, a picture, a program.
 * Each is refused in a sentence that says what would be right.
 */
import { Problem } from "../problem.ts";

interface Sign {
  readonly starts: readonly string[];
  readonly what: string;
  readonly instead: string;
}

const asCsv = "the log should be text in columns; export it as CSV";

/** How files of each kind begin, in bytes read as Latin-1. */
const signs: readonly Sign[] = [
  { starts: ["PK\u0003\u0004"], what: "a zip or a spreadsheet workbook", instead: asCsv },
  { starts: ["\u00d0\u00cf\u0011\u00e0"], what: "a spreadsheet or document in a binary format", instead: asCsv },
  { starts: ["\u001f\u008b"], what: "a gzip archive", instead: "the log should be unpacked first" },
  { starts: ["%PDF"], what: "a PDF", instead: asCsv },
  {
    starts: ["\u0089PNG", "\u00ff\u00d8\u00ff", "GIF8", "\u007fELF", "MZ\u0090", "SQLite format 3"],
    what: "a picture, a program or a database",
    instead: asCsv,
  },
];
const webPage: Sign = {
  starts: [],
  what: "a web page (HTML or XML)",
  instead: "the log should be text in columns; save the file that the page offers, not the page",
};
const json: Sign = { starts: [], what: "JSON", instead: asCsv };

function signOf(beginning: string): Sign | undefined {
  if (/^\s*<(!doctype|html|head|body|script|\?xml|svg|table|div)/i.test(beginning)) return webPage;
  if (/^\s*(\{\s*"|\[\s*[{[])/.test(beginning)) return json;
  return signs.find(({ starts }) => starts.some((start) => beginning.startsWith(start)));
}

/**
 * @param head the first bytes of the file
 * @throws {Problem} where the file is known for something else, or holds bytes that no text holds
 */
export function refuseForeignFile(file: string, head: Uint8Array): void {
  const beginning = String.fromCharCode(...head.subarray(0, 256));
  const sign = signOf(beginning);
  if (sign !== undefined) throw new Problem(`this is ${sign.what}; ${sign.instead}`, { file, line: 1 });
  refuseBinary(file, head);
}

/** Up to one byte in two hundred may be damaged: those rows are left out. More, and it is no text. */
const damagedShare = 1 / 200;

function refuseBinary(file: string, head: Uint8Array): void {
  // A logger that lost its power leaves a tail of zeros behind good rows.
  let end = head.length;
  while (end > 0 && head[end - 1] === 0) end--;
  let strange = 0;
  let first = -1;
  for (let i = 0; i < end; i++) {
    if (!isStrangeByte(head[i]!)) continue;
    if (first < 0) first = i;
    strange++;
  }
  if (first < 0 && (end > 0 || head.length === 0)) return;
  if (end > 0 && strange <= 3 + end * damagedShare) return;
  const at = Math.max(0, first);
  throw new Problem(
    `this is no text: byte ${at + 1} is 0x${(head[at] ?? 0).toString(16).padStart(2, "0")}; the log should be text in columns`,
    { file, line: lineOf(head, at) },
  );
}

/** Control bytes that no text holds; tab, line breaks, form feed and escape are let pass. */
export const isStrangeByte = (byte: number): boolean =>
  byte < 9 || byte === 11 || (byte > 13 && byte < 27) || (byte > 27 && byte < 32) || byte === 127;

function lineOf(bytes: Uint8Array, at: number): number {
  let line = 1;
  for (let i = 0; i < at; i++) if (bytes[i] === 10 || (bytes[i] === 13 && bytes[i + 1] !== 10)) line++;
  return line;
}
