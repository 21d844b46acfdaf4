/** What stands on the sheet as proof beside the figures: photos with captions, names signed on the glass, the shop's code. */
import type { PDFImage } from "pdf-lib";
import { signatureField } from "./hand-signature.ts";
import type { PhotoFacts } from "./photo.ts";
import type { PrintedPhoto, PrintedSignature, SquareCode } from "./record-model.ts";
import { words } from "./record-words.ts";
import { leading, margin, paragraph, put, room, type Sheet, textWidth } from "./sheet.ts";

const gap = 12;
const captionSize = 8;
/** Ten photos fill two pages. */
const tallestPhoto = 170;

/** Two in a row, each upright, its caption under it. */
export async function drawPhotos(sheet: Sheet, photos: readonly PrintedPhoto[]): Promise<void> {
  const width = (textWidth(sheet) - gap) / 2;
  for (let at = 0; at < photos.length; at += 2) {
    const row = await Promise.all(photos.slice(at, at + 2).map((photo) => placedPhoto(sheet, photo, width)));
    const height = Math.max(...row.map((photo) => photo.height + photo.lines.length * captionSize * leading)) + gap;
    room(sheet, height);
    row.forEach((photo, column) => void drawPhoto(sheet, photo, margin + column * (width + gap)));
    sheet.y += height;
  }
}

interface PlacedPhoto {
  readonly caption: string;
  readonly lines: readonly string[];
  readonly image: PDFImage | null;
  readonly turn: PhotoFacts["turn"];
  /** as it stands upright on the page, in points */
  readonly width: number;
  readonly height: number;
}

async function placedPhoto(sheet: Sheet, { caption, picture }: PrintedPhoto, width: number): Promise<PlacedPhoto> {
  const lines = sheet.type.wrapped(caption, "regular", captionSize, width);
  const image = picture && (await embedded(sheet, picture));
  if (!picture || !image) return { caption, lines, image: null, turn: 0, width, height: 0 };
  const { turn } = picture.facts;
  const [across, down] = turn % 180 === 0 ? [image.width, image.height] : [image.height, image.width];
  const scale = Math.min(width / across, tallestPhoto / down);
  return { caption, lines, image, turn, width: across * scale, height: down * scale };
}

/** A picture that is whole and still cannot be unpacked is left out; its caption stands. */
async function embedded(
  sheet: Sheet,
  { bytes, facts }: NonNullable<PrintedPhoto["picture"]>,
): Promise<PDFImage | null> {
  try {
    return await (facts.kind === "jpeg" ? sheet.pdf.embedJpg(bytes) : sheet.pdf.embedPng(bytes));
  } catch {
    return null;
  }
}

function drawPhoto(sheet: Sheet, photo: PlacedPhoto, x: number): void {
  const { image, lines, caption } = photo;
  if (image) sheet.tags.tagged("Figure", (piece) => piece(sheet.page, () => drawImage(sheet, photo, x)), caption);
  sheet.tags.tagged("P", (piece) => {
    lines.forEach((line, index) => {
      const y = sheet.y + photo.height + captionSize * leading * (index + 1);
      piece(sheet.page, () => put(sheet, line, x, y, captionSize, "regular"));
    });
  });
}

/** Turned about the corner that then comes to lie at the lower left. */
function drawImage(sheet: Sheet, { image, turn, width, height }: PlacedPhoto, x: number): void {
  const bottom = sheet.size[1] - sheet.y - height;
  const corner = {
    0: [x, bottom],
    90: [x, bottom + height],
    180: [x + width, bottom + height],
    270: [x + width, bottom],
  } as const;
  const lying = turn % 180 === 0 ? { width, height } : { width: height, height: width };
  const [cornerX, cornerY] = corner[turn];
  sheet.page.drawImage(image!, { x: cornerX, y: cornerY, ...lying, rotate: sheet.lib.degrees(-turn) });
}

const signatureWidth = 180;
const signatureHeight = (signatureWidth / signatureField.width) * signatureField.height;

/** One under the other: the strokes on a line, the name and what the hand stands for under it. */
export function drawSignatures(sheet: Sheet, names: readonly PrintedSignature[]): void {
  for (const { strokes, words: said, remark } of names) {
    room(sheet, signatureHeight + 30);
    sheet.tags.tagged("Figure", (piece) => piece(sheet.page, () => drawStrokes(sheet, strokes)), said);
    sheet.y += signatureHeight + 4;
    paragraph(sheet, words.fact(said, remark), { face: "regular", size: 8.5, tag: "P", after: 6 });
  }
}

function drawStrokes(sheet: Sheet, strokes: PrintedSignature["strokes"]): void {
  const scale = signatureWidth / signatureField.width;
  const base = sheet.size[1] - sheet.y - signatureHeight;
  sheet.page.drawLine({
    start: { x: margin, y: base },
    end: { x: margin + signatureWidth, y: base },
    thickness: 0.5,
  });
  for (const stroke of strokes) {
    if (stroke.length < 4) continue;
    const points = Array.from({ length: stroke.length >> 1 }, (_, index) =>
      [stroke[2 * index]! * scale, stroke[2 * index + 1]! * scale].map((one) => one.toFixed(2)).join(" "),
    );
    sheet.page.drawSvgPath(`M ${points.join(" L ")}`, {
      x: margin,
      y: sheet.size[1] - sheet.y,
      borderWidth: 1.2,
      borderColor: sheet.lib.grayscale(0),
    });
  }
}

/** Large enough for a phone's camera at arm's length: about two thirds of a millimetre a module. */
const modulePoints = 1.9;

/** The code at the left, with four modules of quiet about it, and what it is beside it. */
export function drawSeal(sheet: Sheet, text: string, code: SquareCode): void {
  const side = (code.length + 8) * modulePoints;
  room(sheet, side + 6);
  const top = sheet.y;
  sheet.tags.tagged("Figure", (piece) => piece(sheet.page, () => drawCode(sheet, code)), words.sealShows);
  const size = 8.5;
  const lines = sheet.type.wrapped(text, "regular", size, textWidth(sheet) - side - gap);
  sheet.tags.tagged("P", (piece) => {
    lines.forEach((line, index) => {
      const y = top + 4 * modulePoints + size * (1 + leading * index);
      piece(sheet.page, () => put(sheet, line, margin + side + gap, y, size, "regular"));
    });
  });
  sheet.y = top + Math.max(side, lines.length * size * leading) + 6;
}

/** Modules that lie side by side are one box. */
function drawCode(sheet: Sheet, code: SquareCode): void {
  code.forEach((row, down) => {
    for (let from = row.indexOf(true); from >= 0; ) {
      let to = from;
      while (row[to]) to++;
      sheet.page.drawRectangle({
        x: margin + (from + 4) * modulePoints,
        y: sheet.size[1] - sheet.y - (down + 5) * modulePoints,
        width: (to - from) * modulePoints,
        height: modulePoints,
        color: sheet.lib.grayscale(0),
      });
      from = row.indexOf(true, to);
    }
  });
}
