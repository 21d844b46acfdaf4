/** A page of the record under the pen: its size and margins, lines of text, and going on to the next page. */
import type { PDFDocument, PDFFont, PDFPage } from "pdf-lib";
import type { Tagger } from "./page-tags.ts";
import type { Face, TypeCase } from "./type-case.ts";

export const margin = 50;
const footerRoom = 24;

/** Where the pen is, and all it draws with. */
export interface Sheet {
  readonly lib: typeof import("pdf-lib");
  readonly pdf: PDFDocument;
  readonly type: TypeCase;
  readonly tags: Tagger;
  readonly size: readonly [number, number];
  page: PDFPage;
  /** distance from the upper edge */
  y: number;
}

export const textWidth = (sheet: Sheet): number => sheet.size[0] - 2 * margin;

/** How far down a page is written on. */
export const lowest = (sheet: Sheet): number => sheet.size[1] - margin - footerRoom;

export interface Look {
  readonly face: Face;
  readonly size: number;
  readonly tag: string;
  readonly after: number;
  /** indent of all lines but the first */
  readonly hang?: number;
}

export const leading = 1.25;

export function paragraph(sheet: Sheet, text: string, look: Look): void {
  const { size, face, hang = 0 } = look;
  const lines = sheet.type.wrapped(text, face, size, textWidth(sheet) - hang);
  sheet.tags.tagged(look.tag, (piece) => {
    lines.forEach((line, index) => {
      room(sheet, size * leading);
      piece(sheet.page, () => put(sheet, line, margin + (index > 0 ? hang : 0), sheet.y + size, size, face));
      sheet.y += size * leading;
    });
  });
  sheet.y += look.after;
}

/** Goes on to a new page where what comes next has no room on this one. */
export function room(sheet: Sheet, height: number): void {
  if (sheet.y + height <= lowest(sheet)) return;
  sheet.page = sheet.pdf.addPage([sheet.size[0], sheet.size[1]]);
  sheet.y = margin;
}

/** One line of text; `y` is its base line, from the upper edge. */
export function put(sheet: Sheet, text: string, x: number, y: number, size: number, face: Face, upright = false): void {
  let along = 0;
  for (const { text: run, font } of sheet.type.runs(text, face)) {
    sheet.page.drawText(run, {
      x: upright ? x : x + along,
      y: sheet.size[1] - y + (upright ? along : 0),
      size,
      font: font as PDFFont,
      ...(upright ? { rotate: sheet.lib.degrees(90) } : {}),
    });
    along += font.widthOfTextAtSize(run, size);
  }
}
