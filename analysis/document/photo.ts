/**
 * A photo as it stands in a job: what it is and how it lies, and the same picture without place, time and camera.
 * Goes in: the bytes of a JPEG or PNG file. Sources: JPEG markers and their order, ITU-T T.81 (1992) annex B; Exif
 * orientation, JEITA CP-3451, 4.6.4 tag 0x0112; PNG chunks, ISO/IEC 15948:2003, 5 and 11 (clause numbers from memory).
 */
import { joined } from "./joined-bytes.ts";

export interface PhotoFacts {
  readonly kind: "jpeg" | "png";
  /** as stored, before it is turned */
  readonly width: number;
  readonly height: number;
  /** degrees that the stored picture must be turned clockwise to stand upright */
  readonly turn: 0 | 90 | 180 | 270;
}

interface Segment {
  readonly marker: number;
  readonly bytes: Uint8Array;
}

/** @returns null where the bytes are neither a whole JPEG nor a whole PNG */
export function photoFacts(photo: Uint8Array): PhotoFacts | null {
  const segments = jpegSegments(photo);
  if (segments !== null) {
    const frame = segments.find(({ marker }) => isFrame(marker))!.bytes;
    return { kind: "jpeg", width: word(frame, 7), height: word(frame, 5), turn: turnOf(segments) };
  }
  const chunks = pngChunks(photo);
  const head = chunks?.[0]?.bytes;
  if (!head) return null;
  const size = new DataView(head.buffer, head.byteOffset);
  return { kind: "png", width: size.getUint32(8), height: size.getUint32(12), turn: 0 };
}

/**
 * The picture with nothing but the picture: no Exif (place, time, camera, preview), no comment, no text, nothing after its
 * end. How it lies is kept, since a page would show it on its side otherwise.
 * @returns null where the bytes are neither a whole JPEG nor a whole PNG, so that nothing can be promised
 */
export function withoutPlace(photo: Uint8Array): Uint8Array | null {
  const segments = jpegSegments(photo);
  if (segments !== null) {
    const kept = segments.filter(belongsToPicture).map(({ bytes }) => bytes);
    return joined([new Uint8Array([0xff, 0xd8]), ...lying(turnOf(segments)), ...kept]);
  }
  const chunks = pngChunks(photo);
  if (chunks === null) return null;
  return joined([
    photo.subarray(0, pngMark.length),
    ...chunks.filter(({ name }) => pngKept.has(name)).map(({ bytes }) => bytes),
  ]);
}

const word = (bytes: Uint8Array, at: number): number => (bytes[at]! << 8) | bytes[at + 1]!;
const ascii = (bytes: Uint8Array, from: number, to: number): string => String.fromCharCode(...bytes.subarray(from, to));

/** SOF0 to SOF15, without the tables and the arithmetic coder's marker that stand among them. */
const isFrame = (marker: number): boolean => marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
const startOfScan = 0xda;
const endOfImage = 0xd9;

/** From the first marker to the end of the image, each scan with its coded data; null where it does not end. */
function jpegSegments(photo: Uint8Array): Segment[] | null {
  if (photo[0] !== 0xff || photo[1] !== 0xd8) return null;
  const found: Segment[] = [];
  let at = 2;
  while (at + 1 < photo.length) {
    if (photo[at] !== 0xff) return null;
    const marker = photo[at + 1]!;
    if (marker === 0xff) {
      at++;
    } else if (marker === endOfImage) {
      found.push({ marker, bytes: photo.subarray(at, at + 2) });
      return found.some((one) => isFrame(one.marker)) ? found : null;
    } else {
      const length = word(photo, at + 2);
      const end = marker === startOfScan ? endOfScan(photo, at + 2 + length) : at + 2 + length;
      if (!(length >= 2) || end > photo.length || (isFrame(marker) && length < 8)) return null;
      found.push({ marker, bytes: photo.subarray(at, end) });
      at = end;
    }
  }
  return null;
}

/** Coded data goes on to the next marker that is neither a stuffed byte nor a restart. */
function endOfScan(photo: Uint8Array, from: number): number {
  for (let at = photo.indexOf(0xff, from); at >= 0 && at + 1 < photo.length; at = photo.indexOf(0xff, at + 1)) {
    const next = photo[at + 1]!;
    if (next !== 0 && next !== 0xff && !(next >= 0xd0 && next <= 0xd7)) return at;
  }
  return photo.length + 1;
}

/** Of the application segments only those that the colours need: JFIF, a colour profile, and how the inks are coded. */
function belongsToPicture({ marker, bytes }: Segment): boolean {
  if (marker === 0xfe) return false;
  if (marker < 0xe0 || marker > 0xef) return true;
  if (marker === 0xe0) return ascii(bytes, 4, 9) === "JFIF\0" && bytes[16] === 0 && bytes[17] === 0;
  if (marker === 0xe2) return ascii(bytes, 4, 16) === "ICC_PROFILE\0";
  return marker === 0xee && ascii(bytes, 4, 9) === "Adobe";
}

/** Exif's orientation 1 to 8; the mirrored ones are taken as their unmirrored neighbours, which no camera writes. */
const turns = [0, 0, 0, 180, 180, 90, 90, 270, 270] as const;

function turnOf(segments: readonly Segment[]): PhotoFacts["turn"] {
  const exif = segments.find(({ marker, bytes }) => marker === 0xe1 && ascii(bytes, 4, 10) === "Exif\0\0")?.bytes;
  if (!exif || exif.length < 20) return 0;
  const tiff = new DataView(exif.buffer, exif.byteOffset + 10, exif.length - 10);
  const little = tiff.getUint16(0) === 0x4949;
  const list = tiff.getUint32(4, little);
  if (list + 2 > tiff.byteLength) return 0;
  const count = tiff.getUint16(list, little);
  for (let entry = list + 2; entry + 12 <= tiff.byteLength && entry < list + 2 + count * 12; entry += 12) {
    if (tiff.getUint16(entry, little) === 0x0112) return turns[tiff.getUint16(entry + 8, little)] ?? 0;
  }
  return 0;
}

const orientationOf: Record<PhotoFacts["turn"], number> = { 0: 1, 90: 6, 180: 3, 270: 8 };

/** An Exif segment that says how the picture lies and nothing else. */
function lying(turn: PhotoFacts["turn"]): Uint8Array[] {
  if (turn === 0) return [];
  const entry = [0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, orientationOf[turn], 0, 0];
  const tiff = [0x4d, 0x4d, 0, 42, 0, 0, 0, 8, 0, 1, ...entry, 0, 0, 0, 0];
  const exif = [...new TextEncoder().encode("Exif\0\0"), ...tiff];
  return [new Uint8Array([0xff, 0xe1, 0, exif.length + 2, ...exif])];
}

const pngMark = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
/** What a PNG needs to be drawn in its colours; text, times and Exif are not among it. */
const pngKept = new Set(["IHDR", "PLTE", "IDAT", "IEND", "tRNS", "gAMA", "cHRM", "sRGB", "sBIT", "pHYs"]);

function pngChunks(photo: Uint8Array): { name: string; bytes: Uint8Array }[] | null {
  if (!pngMark.every((byte, index) => photo[index] === byte)) return null;
  const view = new DataView(photo.buffer, photo.byteOffset, photo.length);
  const found: { name: string; bytes: Uint8Array }[] = [];
  for (let at = pngMark.length; at + 12 <= photo.length; ) {
    const name = ascii(photo, at + 4, at + 8);
    const end = at + 12 + view.getUint32(at);
    if (end > photo.length) return null;
    found.push({ name, bytes: photo.subarray(at, end) });
    if (name === "IEND") return found[0]!.name === "IHDR" && found[0]!.bytes.length === 25 ? found : null;
    at = end;
  }
  return null;
}
