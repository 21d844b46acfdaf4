/**
 * What is printed on the pages of a record, read back from the pages themselves.
 * Only what `record-pdf.ts` draws is understood: text shown in Helvetica and Symbol, each piece between its own marks.
 */
import type { PDFDocument, PDFPage } from "pdf-lib";

export interface PrintedPage {
  /** one entry for each piece: a line of a paragraph, a cell, the words of the picture */
  readonly pieces: readonly string[];
  /** all that is drawn, words, lines and places */
  readonly drawn: string;
}

export async function printedPages(pdf: PDFDocument): Promise<PrintedPage[]> {
  const lib = await import("pdf-lib");
  return pdf.getPages().map((page) => {
    const drawn = contentOf(lib, page);
    const pieces = drawn
      .split(/\bEMC\b/)
      .map(textOf)
      .filter((text) => text !== "");
    return { pieces, drawn };
  });
}

function contentOf(lib: typeof import("pdf-lib"), page: PDFPage): string {
  const { decodePDFRawStream, PDFArray, PDFContentStream, PDFRawStream } = lib;
  const contents = page.node.Contents();
  const streams =
    contents instanceof PDFArray ? contents.asArray().map((ref) => page.doc.context.lookup(ref)) : [contents];
  return streams
    .map((stream) => {
      const bytes =
        stream instanceof PDFRawStream
          ? decodePDFRawStream(stream).decode()
          : stream instanceof PDFContentStream
            ? stream.getUnencodedContents()
            : new Uint8Array();
      return new TextDecoder("latin1").decode(bytes);
    })
    .join("\n");
}

/** Codes of the font Symbol that the record uses (ISO 32000-1, annex D.5; from memory). */
const symbolCodes = new Map([
  [0x57, "Ω"],
  [0x2d, "−"],
  [0xa3, "≤"],
  [0xb3, "≥"],
  [0xbb, "≈"],
  [0xae, "→"],
]);

function textOf(drawn: string): string {
  let symbol = false;
  let base = "";
  let text = "";
  for (const [, font, x, y, hex, literal] of drawn.matchAll(
    /\/([\w-]+) [\d.]+ Tf|([-\d.]+) ([-\d.]+) Tm|<([0-9A-Fa-f]*)> Tj|\(((?:\\.|[^\\)])*)\) Tj/g,
  )) {
    if (font !== undefined) symbol = font.startsWith("Symbol");
    else if (x !== undefined) {
      // Runs on one base line belong together; a new line, or a label elsewhere in the picture, begins a new word.
      if (base !== "" && base !== y) text += " ";
      base = y!;
    } else text += hex === undefined ? literal! : shown(hex, symbol);
  }
  return text.replaceAll("\u00a0", " ").trim();
}

function shown(hex: string, symbol: boolean): string {
  const codes = Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
  if (!symbol) return new TextDecoder("windows-1252").decode(codes);
  return [...codes].map((code) => symbolCodes.get(code) ?? "?").join("");
}
