/** The potential profile on the sheet, as vectors. */
import type { Mark, ProfilePicture } from "./profile-picture.ts";
import { lowest, margin, put, type Sheet, textWidth } from "./sheet.ts";

/** The picture shrinks to what is left of its page, down to this; below it, its words could not be read. */
export const leastScale = 0.7;
const captionRoom = 30;
/** its heading and its caption, in points */
export const besidePicture = 30 + captionRoom;

export function drawPicture(sheet: Sheet, picture: ProfilePicture, words: string): void {
  const left = lowest(sheet) - sheet.y - captionRoom;
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
