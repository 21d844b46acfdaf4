/**
 * The customer's record as a PDF: real text, headings, page numbers, the picture as vectors, tagged for a screen reader.
 * Goes in: the document. Comes out: a PDF that more can still be put into.
 */
import type { PDFDocument, PDFFont, PDFPage } from "pdf-lib";
import { pageTagger, type Tagger } from "./page-tags.ts";
import type { Mark, ProfilePicture } from "./profile-picture.ts";
import type { Block, RecordDocument, RecordStamp, Section } from "./record-model.ts";
import { type Face, loadFaces, type TypeCase } from "./type-case.ts";

type PdfLib = typeof import("pdf-lib");

/** Points of 1/72 inch: ISO 216 A4 and US Letter. */
const paperSize = { a4: [595.28, 841.89], letter: [612, 792] } as const;
const margin = 50;
const footerRoom = 24;

/** Where the pen is, and all it draws with. */
interface Sheet {
  readonly lib: PdfLib;
  readonly pdf: PDFDocument;
  readonly type: TypeCase;
  readonly tags: Tagger;
  readonly size: readonly [number, number];
  page: PDFPage;
  /** distance from the upper edge */
  y: number;
}

const textWidth = (sheet: Sheet): number => sheet.size[0] - 2 * margin;

/** @returns the PDF with every page drawn and numbered, not yet saved */
export async function drawRecord(record: RecordDocument, stamp: RecordStamp): Promise<PDFDocument> {
  const lib = await import("pdf-lib");
  const pdf = await lib.PDFDocument.create({ updateMetadata: false });
  const size = paperSize[stamp.paper];
  const sheet: Sheet = {
    lib,
    pdf,
    size,
    type: await loadFaces(lib, pdf),
    tags: pageTagger(lib, pdf),
    page: pdf.addPage([size[0], size[1]]),
    y: margin,
  };
  describe(record, stamp, pdf);
  drawHead(sheet, record);
  for (const section of record.front) drawSection(sheet, section);
  // Page one is the customer's; what another technician checks begins on a page of its own.
  if (record.rest.length > 0) room(sheet, sheet.size[1]);
  for (const section of record.rest) drawSection(sheet, section);
  drawFooters(sheet, record);
  sheet.tags.finish();
  return pdf;
}

function describe(record: RecordDocument, stamp: RecordStamp, pdf: PDFDocument): void {
  pdf.setTitle(record.title, { showInWindowTitleBar: true });
  pdf.setSubject(record.kind);
  pdf.setCreator(`Loopwalk ${stamp.programVersion}`);
  pdf.setProducer(`Loopwalk ${stamp.programVersion}`);
  pdf.setLanguage("en");
}

function drawHead(sheet: Sheet, { kind, title, facts }: RecordDocument): void {
  paragraph(sheet, kind, { face: "regular", size: 9, tag: "P", after: 2 });
  paragraph(sheet, title, { face: "bold", size: 17, tag: "H1", after: 5 });
  for (const [name, value] of facts)
    paragraph(sheet, `${name}: ${value}`, { face: "regular", size: 9, tag: "P", after: 1 });
  sheet.y += 4;
}

function drawSection(sheet: Sheet, { heading, blocks }: Section): void {
  // A heading alone at the foot of a page belongs to nothing: it goes over with the first lines, or the picture, under it.
  const [first] = blocks;
  room(sheet, first?.kind === "profile" ? leastScale * first.picture.height + besidePicture : 90);
  sheet.y += 7;
  paragraph(sheet, heading, { face: "bold", size: 12, tag: "H2", after: 3 });
  for (const block of blocks) drawBlock(sheet, block);
}

function drawBlock(sheet: Sheet, block: Block): void {
  switch (block.kind) {
    case "paragraph":
      paragraph(sheet, block.text, { face: "regular", size: 9.5, tag: "P", after: 3 });
      return;
    case "list":
      for (const item of block.items)
        paragraph(sheet, `• ${item}`, { face: "regular", size: 9.5, tag: "P", after: 2, hang: 9 });
      return;
    case "table":
      drawTable(sheet, block);
      return;
    case "profile":
      drawPicture(sheet, block.picture, block.caption);
      paragraph(sheet, block.caption, { face: "regular", size: 8, tag: "P", after: 3 });
  }
}

interface Look {
  readonly face: Face;
  readonly size: number;
  readonly tag: string;
  readonly after: number;
  /** indent of all lines but the first */
  readonly hang?: number;
}

const leading = 1.25;

function paragraph(sheet: Sheet, text: string, look: Look): void {
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
function room(sheet: Sheet, height: number): void {
  if (sheet.y + height <= sheet.size[1] - margin - footerRoom) return;
  sheet.page = sheet.pdf.addPage([sheet.size[0], sheet.size[1]]);
  sheet.y = margin;
}

/** One line of text; `y` is its base line, from the upper edge. */
function put(sheet: Sheet, text: string, x: number, y: number, size: number, face: Face, upright = false): void {
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

type Table = Extract<Block, { kind: "table" }>;
const cellSize = 7.5;
const cellPad = 3;

function drawTable(sheet: Sheet, { head, rows, shares }: Table): void {
  const all = shares.reduce((sum, share) => sum + share, 0);
  const widths = shares.map((share) => (share / all) * textWidth(sheet));
  sheet.tags.table(() => {
    drawRow(sheet, head, widths, "bold");
    for (const row of rows) {
      const page = sheet.page;
      room(sheet, rowHeight(sheet, row, widths, "regular"));
      if (sheet.page !== page) drawRow(sheet, head, widths, "bold");
      drawRow(sheet, row, widths, "regular");
    }
  });
  sheet.y += 5;
}

const cellLines = (sheet: Sheet, text: string, width: number, face: Face) =>
  sheet.type.wrapped(text, face, cellSize, width - 2 * cellPad);

function rowHeight(sheet: Sheet, row: readonly string[], widths: readonly number[], face: Face): number {
  const lines = row.map((text, index) => cellLines(sheet, text, widths[index]!, face).length);
  return Math.max(1, ...lines) * cellSize * leading + 2 * cellPad;
}

function drawRow(sheet: Sheet, row: readonly string[], widths: readonly number[], face: Face): void {
  const height = rowHeight(sheet, row, widths, face);
  room(sheet, height);
  let x = margin;
  sheet.tags.row((cell) => {
    row.forEach((text, index) => {
      cell(face === "bold" ? "TH" : "TD", sheet.page, () => {
        cellLines(sheet, text, widths[index]!, face).forEach((line, place) => {
          put(sheet, line, x + cellPad, sheet.y + cellPad + cellSize + place * cellSize * leading, cellSize, face);
        });
      });
      x += widths[index]!;
    });
  });
  sheet.y += height;
  rule(sheet, face === "bold" ? 0.8 : 0.3, face === "bold" ? 0 : 0.6);
}

function rule(sheet: Sheet, thickness: number, grey: number): void {
  const y = sheet.size[1] - sheet.y;
  sheet.tags.artifact(sheet.page, () =>
    sheet.page.drawLine({
      start: { x: margin, y },
      end: { x: sheet.size[0] - margin, y },
      thickness,
      color: sheet.lib.grayscale(grey),
    }),
  );
}

/** The picture shrinks to what is left of its page, down to this; below it, its words could not be read. */
const leastScale = 0.7;
const captionRoom = 30;
/** its heading and its caption, in points */
const besidePicture = 30 + captionRoom;

function drawPicture(sheet: Sheet, picture: ProfilePicture, words: string): void {
  const left = sheet.size[1] - margin - footerRoom - sheet.y - captionRoom;
  const scale = Math.max(leastScale, Math.min(1, textWidth(sheet) / picture.width, left / picture.height));
  const top = sheet.y;
  sheet.tags.tagged(
    "Figure",
    (piece) =>
      piece(sheet.page, () => {
        for (const mark of picture.marks) drawMark(sheet, mark, top, scale);
      }),
    words,
  );
  sheet.y += picture.height * scale + 4;
}

function drawMark(sheet: Sheet, mark: Mark, top: number, scale: number): void {
  const { page, size, lib } = sheet;
  const x = (value: number) => margin + value * scale;
  const y = (value: number) => size[1] - top - value * scale;
  if (mark.kind === "text") {
    const width = sheet.type.width(mark.text, "regular", mark.size * scale);
    if (mark.stands === "upright") {
      put(sheet, mark.text, x(mark.x), top + mark.y * scale + width, mark.size * scale, "regular", true);
    } else {
      const left = mark.stands === "before" ? x(mark.x) - width : x(mark.x);
      put(sheet, mark.text, left, top + mark.y * scale, mark.size * scale, "regular");
    }
    return;
  }
  const color = lib.grayscale(mark.grey);
  if (mark.kind === "box") {
    const { width, height } = mark;
    page.drawRectangle({ x: x(mark.x), y: y(mark.y + height), width: width * scale, height: height * scale, color });
    return;
  }
  mark.points.slice(1).forEach((to, index) => {
    const from = mark.points[index]!;
    page.drawLine({
      start: { x: x(from[0]), y: y(from[1]) },
      end: { x: x(to[0]), y: y(to[1]) },
      thickness: mark.width * scale,
      color,
      ...(mark.dashed ? { dashArray: [4, 2.5] } : { lineCap: lib.LineCapStyle.Round }),
    });
  });
}

function drawFooters(sheet: Sheet, { footer }: RecordDocument): void {
  const pages = sheet.pdf.getPages();
  pages.forEach((page, index) => {
    const number = `Page ${index + 1} of ${pages.length}`;
    const here: Sheet = { ...sheet, page };
    const right = sheet.size[0] - margin - sheet.type.width(number, "regular", 8);
    const [title = ""] = sheet.type.wrapped(footer, "regular", 8, right - margin - 20);
    sheet.tags.artifact(page, () => {
      put(here, title, margin, sheet.size[1] - margin + 12, 8, "regular");
      put(here, number, right, sheet.size[1] - margin + 12, 8, "regular");
    });
  });
}
