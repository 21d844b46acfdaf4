/**
 * The customer's record as a PDF: real text, headings, page numbers, the picture as vectors, tagged for a screen reader.
 * Goes in: the document. Comes out: a PDF that more can still be put into.
 */
import type { PDFDocument } from "pdf-lib";
import { besidePicture, drawPicture, leastScale } from "./drawn-picture.ts";
import { drawPhotos, drawSeal, drawSignatures } from "./drawn-proof.ts";
import { pageTagger } from "./page-tags.ts";
import type { Block, RecordDocument, RecordStamp, Section } from "./record-model.ts";
import { words } from "./record-words.ts";
import { leading, margin, paragraph, put, room, type Sheet, textWidth } from "./sheet.ts";
import { type Face, loadFaces } from "./type-case.ts";

/** Points of 1/72 inch: ISO 216 A4 and US Letter. */
const paperSize = { a4: [595.28, 841.89], letter: [612, 792] } as const;
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
  for (const section of record.front) await drawSection(sheet, section);
  // Page one is the customer's; what another technician checks begins on a page of its own.
  if (record.rest.length > 0) room(sheet, sheet.size[1]);
  for (const section of record.rest) await drawSection(sheet, section);
  drawFooters(sheet, record);
  sheet.tags.finish();
  return pdf;
}

function describe(record: RecordDocument, stamp: RecordStamp, pdf: PDFDocument): void {
  pdf.setTitle(record.title, { showInWindowTitleBar: true });
  pdf.setSubject(record.kind);
  pdf.setCreator(`Loopwalk ${stamp.programVersion}`);
  pdf.setProducer(`Loopwalk ${stamp.programVersion}`);
  pdf.setLanguage(words.language);
}

function drawHead(sheet: Sheet, { kind, title, facts }: RecordDocument): void {
  paragraph(sheet, kind, { face: "regular", size: 9, tag: "P", after: 2 });
  paragraph(sheet, title, { face: "bold", size: 17, tag: "H1", after: 5 });
  for (const [name, value] of facts)
    paragraph(sheet, words.fact(name, value), { face: "regular", size: 9, tag: "P", after: 1 });
  sheet.y += 4;
}

async function drawSection(sheet: Sheet, { heading, blocks }: Section): Promise<void> {
  // A heading alone at the foot of a page belongs to nothing: it goes over with the first lines, or the picture, under it.
  const [first] = blocks;
  room(sheet, first?.kind === "profile" ? leastScale * first.picture.height + besidePicture : 90);
  sheet.y += 7;
  paragraph(sheet, heading, { face: "bold", size: 12, tag: "H2", after: 3 });
  for (const block of blocks) await drawBlock(sheet, block);
}

async function drawBlock(sheet: Sheet, block: Block): Promise<void> {
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
      return;
    case "photos":
      await drawPhotos(sheet, block.photos);
      return;
    case "signatures":
      drawSignatures(sheet, block.names);
      return;
    case "seal":
      drawSeal(sheet, block.text, block.code);
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

function drawFooters(sheet: Sheet, { footer }: RecordDocument): void {
  const pages = sheet.pdf.getPages();
  pages.forEach((page, index) => {
    const number = words.page(index + 1, pages.length);
    const here: Sheet = { ...sheet, page };
    const right = sheet.size[0] - margin - sheet.type.width(number, "regular", 8);
    const [title = ""] = sheet.type.wrapped(footer, "regular", 8, right - margin - 20);
    sheet.tags.artifact(page, () => {
      put(here, title, margin, sheet.size[1] - margin + 12, 8, "regular");
      put(here, number, right, sheet.size[1] - margin + 12, 8, "regular");
    });
  });
}
