/** Where in a line of text the displayed number may stand: behind a name, in a cell, as the first, second … number. */
import type { CodingProposal } from "./coding-search.ts";
import { type TextNumber, tokens } from "./text-number.ts";

const latin = (frame: Uint8Array): string => String.fromCharCode(...frame);

/** @param checked the lines carry a check, whose figures may or may not look like a number */
export function proposeTextCodings(frames: readonly Uint8Array[], checked: boolean): CodingProposal[] {
  const lines = frames.slice(0, 400).map(latin);
  const decimalComma = commaIsDecimal(lines);
  const comma = decimalComma ? { decimalComma: true } : {};
  const out: CodingProposal[] = [];
  const propose = (coding: Omit<TextNumber, "coding">, cost: number) =>
    out.push({ coding: { coding: "text", ...coding, ...comma }, cost, signed: true });
  const numbers = numberCount(lines, decimalComma);
  // Two lines run into one hold more numbers than a line does, wherever in it the number is sought.
  const counted = numbers.always && !checked ? { numbers: numbers.most } : {};
  for (const label of labels(lines)) propose({ after: label, ...counted }, 1.5 + 0.05 * label.length);
  for (let ordinal = 0; ordinal < Math.min(12, numbers.most); ordinal++) {
    propose({ ordinal, ...counted }, 1 + Math.log(numbers.most) + (numbers.always || checked ? 0 : 2));
  }
  for (const separator of separators(lines)) {
    if (separator === "," && decimalComma) continue;
    const cells = lines[0]!.split(separator).length;
    for (let index = 0; index < Math.min(cells, 16); index++) {
      propose({ cell: { separator, index }, ...counted }, 1.2 + Math.log(cells));
      // One cell may have its comma beside others with points.
      if (separator !== "," && !decimalComma && commaInCell(lines, separator, index))
        out.push({
          coding: { coding: "text", cell: { separator, index }, decimalComma: true },
          cost: 2.2 + Math.log(cells),
          signed: true,
        });
    }
  }
  return out;
}

const isPrinted = (byte: number): boolean => byte >= 0x20 && byte < 0x7f;
const isOfNumber = (byte: number): boolean => /[0-9.+\- ]/.test(String.fromCharCode(byte));

/** A printed number with its point among bytes that are no text: columns that mostly hold figures, and the letters behind. */
export function proposeColumns(frames: readonly Uint8Array[]): CodingProposal[] {
  const length = Math.min(...frames.map((frame) => frame.length));
  const share = (at: number, is: (byte: number) => boolean) =>
    frames.filter((frame) => is(frame[at]!)).length / frames.length;
  const out: CodingProposal[] = [];
  for (let from = 0; from < length; from++) {
    let to = from;
    while (to < length && share(to, isOfNumber) > 0.6) to++;
    if (to - from < 3) continue;
    const pointed = frames.filter((frame) => frame.subarray(from, to).includes(0x2e)).length;
    let end = to;
    while (end < length && share(end, isPrinted) > 0.98) end++;
    if (pointed > 0.5 * frames.length)
      out.push({
        coding: { coding: "text", columns: [from, end], ordinal: 0 },
        cost: 1 + Math.log(length),
        signed: true,
      });
    from = to;
  }
  return out;
}

/** A comma between figures in nearly every line, never a point: the trade of half of Europe. */
function commaIsDecimal(lines: readonly string[]): boolean {
  const withComma = lines.filter((line) => /\d,\d/.test(line)).length;
  const withPoint = lines.filter((line) => /\d\.\d/.test(line)).length;
  const parted = lines.filter((line) => line.split(",").length <= 2 || /[;\t]/.test(line)).length;
  return withComma > 0.5 * lines.length && withPoint === 0 && parted > 0.9 * lines.length;
}

const commaInCell = (lines: readonly string[], separator: string, index: number): boolean =>
  lines.filter((line) => /\d,\d/.test(line.split(separator)[index] ?? "")).length > 0.5 * lines.length;

function numberCount(lines: readonly string[], decimalComma: boolean): { most: number; always: boolean } {
  const counts = lines.map((line) => tokens(decimalComma ? line : line.replaceAll(",", ", "), decimalComma).length);
  const sorted = [...counts].sort((a, b) => a - b);
  const common = sorted[sorted.length >> 1] ?? 0;
  return { most: common, always: counts.filter((count) => count === common).length > 0.95 * counts.length };
}

/** Names and signs that stand right before a number in nearly every line, once a line. */
function labels(lines: readonly string[]): string[] {
  const counts = new Map<string, number>();
  for (const line of lines) {
    for (const match of line.matchAll(
      /([A-Za-z][A-Za-z0-9_ ]{0,11}["']?\s?[:=]?\s?["']?|[=:#>])(?=[-+ ]{0,4}[.\d])/g,
    )) {
      const label = match[1]!;
      if (line.indexOf(label) === match.index) counts.set(label, (counts.get(label) ?? 0) + 1);
    }
  }
  return [...counts]
    .filter(([, count]) => count > 0.3 * lines.length)
    .map(([label]) => label)
    .slice(0, 12);
}

function separators(lines: readonly string[]): string[] {
  return [",", ";", "\t", "|"].filter((separator) => {
    const cells = lines.map((line) => line.split(separator).length);
    return cells[0]! > 1 && cells.filter((count) => count === cells[0]).length > 0.9 * cells.length;
  });
}
