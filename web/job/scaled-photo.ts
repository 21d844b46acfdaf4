/** A photo from the camera made fit to keep: upright, small enough to travel, and without place, time and camera. */
import { withoutPlace } from "../../analysis/index.ts";

/** Enough to read a label on a fuse holder; common practice. */
const longestEdgePixels = 1600;
const quality = 0.8;

/** @throws {Error} with a sentence where the browser cannot read the file as a picture */
export async function scaledPhoto(file: File): Promise<Blob> {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" }).catch(() => {
    throw new Error(`${file.name}: should be a picture that this browser can show, as JPEG or PNG; it cannot read it.`);
  });
  const scale = Math.min(1, longestEdgePixels / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const pen = canvas.getContext("2d")!;
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const drawn = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", quality));
  const clean = drawn && withoutPlace(new Uint8Array(await drawn.arrayBuffer()));
  if (!clean) throw new Error(`${file.name}: should be a picture of moderate size; this browser cannot scale it down.`);
  return new Blob([clean as BlobPart], { type: "image/jpeg" });
}
