/**
 * The type that the record is set in: the PDF's own Helvetica, and its Symbol for Ω, − and ≤, so that no font travels along.
 * A letter that neither holds is set without its accent, or as '?': the job inside the PDF keeps it as it was written.
 */
import type { PDFDocument, PDFFont } from "pdf-lib";

export type Face = "regular" | "bold";

export interface Run {
  readonly text: string;
  readonly font: PDFFont;
}

export interface TypeCase {
  /** the text cut where the font changes */
  runs(text: string, face: Face): Run[];
  width(text: string, face: Face, size: number): number;
  /** lines no wider than `width`; at least one */
  wrapped(text: string, face: Face, size: number, width: number): string[];
}

const noBreak = "\u00a0";

export async function loadFaces(lib: typeof import("pdf-lib"), pdf: PDFDocument): Promise<TypeCase> {
  const { StandardFonts } = lib;
  const fonts = {
    regular: await pdf.embedFont(StandardFonts.Helvetica),
    bold: await pdf.embedFont(StandardFonts.HelveticaBold),
    symbol: await pdf.embedFont(StandardFonts.Symbol),
  };
  const latin = new Set(fonts.regular.getCharacterSet());
  const symbols = new Set(fonts.symbol.getCharacterSet());
  const holds = (mark: string) => latin.has(mark.codePointAt(0)!) || symbols.has(mark.codePointAt(0)!);

  const settable = (text: string): string =>
    [...text.replace(/[\p{Cc}\u2028\u2029]+/gu, " ").replaceAll(/[\u202f\u2009]/g, noBreak)]
      .map((mark) => (holds(mark) ? mark : withoutAccent(mark, holds)))
      .join("");

  const runs = (text: string, face: Face): Run[] => {
    const found: { text: string; font: PDFFont }[] = [];
    for (const mark of settable(text)) {
      const font = latin.has(mark.codePointAt(0)!) ? fonts[face] : fonts.symbol;
      const last = found.at(-1);
      if (last?.font === font) last.text += mark;
      else found.push({ text: mark, font });
    }
    return found;
  };
  // Tables say the same words again and again, and every row is measured before it is drawn.
  const widths = new Map<string, number>();
  const width = (text: string, face: Face, size: number) => {
    const key = `${face} ${text}`;
    const known =
      widths.get(key) ?? runs(text, face).reduce((sum, run) => sum + run.font.widthOfTextAtSize(run.text, 1), 0);
    widths.set(key, known);
    return known * size;
  };

  const breaks = new Map<string, string[]>();
  const wrapped = (text: string, face: Face, size: number, most: number): string[] => {
    const key = `${face} ${size} ${most} ${text}`;
    const known = breaks.get(key) ?? broken(text, face, size, most);
    breaks.set(key, known);
    return known;
  };

  const broken = (text: string, face: Face, size: number, most: number): string[] => {
    const lines: string[] = [];
    let line = "";
    const words = keptTogether(settable(text))
      .split(" ")
      .filter((word) => word !== "");
    for (const word of words.flatMap((long) => pieces(long, (piece) => width(piece, face, size) <= most))) {
      const longer = line === "" ? word : `${line} ${word}`;
      if (line === "" || width(longer, face, size) <= most) line = longer;
      else {
        lines.push(line);
        line = word;
      }
    }
    return [...lines, line];
  };
  return { runs, width, wrapped };
}

/** Letters whose stroke is no accent to Unicode: set as the letter without it. */
const stroked = new Map(Object.entries({ Ł: "L", ł: "l", Đ: "D", đ: "d", Ħ: "H", ħ: "h", Ŧ: "T", ŧ: "t", ı: "i" }));

function withoutAccent(mark: string, holds: (mark: string) => boolean): string {
  const plain = stroked.get(mark);
  if (plain !== undefined) return plain;
  const known = mark === "\u2126" ? "\u03a9" : mark === "\u03a9" ? "\u2126" : mark;
  if (holds(known)) return known;
  const letters = [...mark.normalize("NFKD").replace(/\p{M}/gu, "")].filter(holds).join("");
  return letters === "" && !/\p{M}|\p{Cf}/u.test(mark) ? "?" : letters;
}

/** A number stays with its unit, and an uncertainty with its value's last sign. */
const keptTogether = (text: string) =>
  text
    .replace(/(\d) (?=(?:V|mV|A|mΩ|Ω|m\u2126|\u2126|s|%|m|ft|mm²|AWG|°C)(?![\p{L}\d]))/gu, `$1${noBreak}`)
    .replace(/ ?± /g, (sign) => sign.replaceAll(" ", noBreak));

/** A word too wide for its line, in pieces that fit. */
function pieces(word: string, fits: (piece: string) => boolean): string[] {
  if (fits(word)) return [word];
  const found: string[] = [];
  let piece = "";
  for (const mark of word) {
    if (piece !== "" && !fits(piece + mark)) {
      found.push(piece);
      piece = "";
    }
    piece += mark;
  }
  return [...found, piece];
}
