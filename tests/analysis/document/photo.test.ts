// Photos without their place: what is kept shows the same picture, and nothing that a camera wrote of place and time is left.
// Source: the layout of JPEG (ITU-T T.81) and PNG (ISO/IEC 15948); the photos are drawn by tests/fixtures/photos.ts.
import { crc32, deflateSync } from "node:zlib";
import { describe, expect, test } from "vitest";
import { photoFacts, withoutPlace } from "../../../analysis/index.ts";
import { drawnPhoto, placeWords } from "../../fixtures/photos.ts";

const says = (bytes: Uint8Array, words: string) => Buffer.from(bytes).includes(words);

describe("a JPEG", () => {
  test.each([
    [1, 0],
    [3, 180],
    [6, 90],
    [8, 270],
  ])("that lies as Exif's orientation %d says keeps %d degrees, and loses the rest", (orientation, turn) => {
    const photo = drawnPhoto({ width: 32, height: 16, orientation });
    expect(says(photo, placeWords)).toBe(true);
    const clean = withoutPlace(photo)!;
    expect(photoFacts(photo)).toEqual({ kind: "jpeg", width: 32, height: 16, turn });
    expect(photoFacts(clean)).toEqual(photoFacts(photo));
    expect(says(clean, "Quillfeather")).toBe(false);
    // Tables, frame and coded data are the same bytes.
    const coded = Buffer.from(photo).subarray(photo.findIndex((byte, at) => byte === 0xff && photo[at + 1] === 0xdb));
    const kept = coded.subarray(0, coded.length - placeWords.length);
    expect(Buffer.from(clean).subarray(-kept.length).equals(kept)).toBe(true);
    expect(Buffer.from(withoutPlace(clean)!).equals(clean)).toBe(true);
  });

  test("cut short anywhere is none", () => {
    const photo = drawnPhoto({ width: 16, height: 16, orientation: 6 });
    const whole = photo.length - placeWords.length;
    for (let length = 0; length < whole; length++) expect(withoutPlace(photo.subarray(0, length))).toBe(null);
    expect(withoutPlace(photo.subarray(0, whole))).not.toBe(null);
  });

  test("whose bytes are changed one by one never throws", () => {
    const photo = drawnPhoto({ width: 16, height: 8, orientation: 6 });
    for (let at = 0; at < photo.length; at++) {
      const other = photo.slice();
      other[at] = 0xff;
      expect(() => [withoutPlace(other), photoFacts(other)]).not.toThrow();
    }
  });
});

describe("a PNG", () => {
  const chunk = (name: string, content: Buffer) => {
    const length = Buffer.alloc(4);
    length.writeUInt32BE(content.length);
    const named = Buffer.concat([Buffer.from(name), content]);
    const check = Buffer.alloc(4);
    check.writeUInt32BE(crc32?.(named) ?? 0);
    return Buffer.concat([length, named, check]);
  };
  const size = Buffer.from([0, 0, 0, 3, 0, 0, 0, 2, 8, 0, 0, 0, 0]);
  const photo = Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk("IHDR", size),
    chunk("tEXt", Buffer.from(placeWords)),
    chunk("eXIf", Buffer.from(placeWords)),
    chunk("IDAT", deflateSync(Buffer.alloc(8))),
    chunk("IEND", Buffer.alloc(0)),
    Buffer.from(placeWords),
  ]);

  test("loses its texts, and what stands behind its end", () => {
    expect(photoFacts(photo)).toEqual({ kind: "png", width: 3, height: 2, turn: 0 });
    const clean = withoutPlace(photo)!;
    expect(photoFacts(clean)).toEqual(photoFacts(photo));
    expect(says(clean, "Quillfeather")).toBe(false);
    expect(says(clean, "IDAT")).toBe(true);
  });

  test("cut short is none, nor is any other file", () => {
    expect(withoutPlace(photo.subarray(0, 60))).toBe(null);
    expect(photoFacts(new TextEncoder().encode("%PDF-1.7"))).toBe(null);
    expect(photoFacts(new Uint8Array())).toBe(null);
  });
});
