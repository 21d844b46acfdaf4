// A zip is whole or it is refused. Sources: CRC-32 check value 0xCBF43926 of "123456789" (the catalogue of
// parametrised CRC algorithms, from memory). Zips are made by fflate, then damaged on purpose.
import { strToU8, zipSync } from "fflate";
import { describe, expect, test } from "vitest";
import { checksumOf, openZip, zipLimits } from "../../../analysis/job/zipped-folder.ts";
import { Problem } from "../../../analysis/problem.ts";

const log = strToU8(
  Array.from({ length: 5000 }, (_, i) => `${i / 10},${(12 + Math.sin(i) / 50).toFixed(3)}\n`).join(""),
);
const folder = { "job.json": strToU8('{"format": "job/1"}'), "load.csv": log };

const bytesOf = (pieces: Iterable<Uint8Array> | null) => Buffer.concat([...(pieces ?? [])]);
const readAll = (zip: Uint8Array) => {
  const opened = openZip(zip, "job.zip");
  return Object.fromEntries(opened.names.map((name) => [name, bytesOf(opened.read(name))]));
};

function refusal(read: () => unknown): string {
  try {
    read();
  } catch (error) {
    if (error instanceof Problem) return error.message;
    throw error;
  }
  throw new Error("should have been refused");
}

/** The first place of a mark, as bytes of a 32-bit little-endian number. */
function placeOf(zip: Uint8Array, mark: number): number {
  const wanted = Buffer.alloc(4);
  wanted.writeUInt32LE(mark);
  return Buffer.from(zip).indexOf(wanted);
}

function written(zip: Uint8Array, at: number, value: number, bytes: 2 | 4): Uint8Array {
  const copy = Buffer.from(zip);
  if (bytes === 2) copy.writeUInt16LE(value, at);
  else copy.writeUInt32LE(value, at);
  return copy;
}

describe("what is read", () => {
  test("the checksum's published check value", () => {
    expect(checksumOf(strToU8("123456789"), 0)).toBe(0xcbf43926);
    expect(checksumOf(strToU8("6789"), checksumOf(strToU8("12345"), 0))).toBe(0xcbf43926);
  });

  test.each([0, 6, 9] as const)("files come out as they went in, level %i", (level) => {
    const files = readAll(zipSync(folder, { level }));
    expect(Object.keys(files)).toEqual(["job.json", "load.csv"]);
    expect(files["load.csv"]!.equals(log)).toBe(true);
  });

  test("a folder that the zip wraps around everything is taken off", () => {
    const zip = zipSync({ orchard: folder, __MACOSX: { "job.json": strToU8("?") } });
    expect(openZip(zip, "job.zip").names).toEqual(["job.json", "load.csv"]);
  });

  test("two levels are not guessed at, an unknown name is null, an empty file is empty", () => {
    const opened = openZip(zipSync({ a: { b: folder }, "empty.csv": new Uint8Array() }), "job.zip");
    expect(opened.names).toContain("a/b/job.json");
    expect(opened.read("job.json")).toBeNull();
    expect(bytesOf(opened.read("empty.csv"))).toHaveLength(0);
  });
});

describe("what is refused", () => {
  const zip = zipSync(folder);
  const central = placeOf(zip, 0x02014b50);

  test.each([
    ["nothing", new Uint8Array()],
    ["no zip", strToU8("hello, this is a text and not a zip at all")],
    ["an end without a beginning", zip.subarray(central)],
    ["an end record alone, with counts of what is not there", written(new Uint8Array(22), 0, 0x06054b50, 4).fill(9, 8)],
  ])("%s", (_, bytes) => {
    expect(refusal(() => readAll(bytes))).toBe("job.zip: should be a whole zip; this one is cut short or damaged");
  });

  test("cut short at any byte", () => {
    for (let length = 0; length < zip.length; length += 97) {
      expect(refusal(() => readAll(zip.subarray(0, length)))).toContain("job.zip: should be a whole zip");
    }
  });

  test("any one bit flipped: refused, or read exactly as it was", () => {
    let refused = 0;
    for (let at = 0; at < zip.length; at += 13) {
      const flipped = Uint8Array.from(zip);
      flipped[at]! ^= 1 << (at % 8);
      try {
        const files = readAll(flipped);
        for (const [name, bytes] of Object.entries(files)) {
          const original = Object.entries(folder).find(([, content]) => Buffer.from(content).equals(bytes));
          expect(original, `${name} after the flip of byte ${at}`).toBeDefined();
        }
      } catch (error) {
        expect(error).toBeInstanceOf(Problem);
        refused++;
      }
    }
    console.log(
      `zip: ${refused} of ${Math.ceil(zip.length / 13)} single bit flips refused, the rest without effect on a file's bytes`,
    );
    expect(refused).toBeGreaterThan(0);
  });

  test.each(["../job.json", "/etc/passwd", "a/../../b.csv", "C:\\logs\\b.csv", "..\\b.csv"])(
    "a path that leaves the folder: %s",
    (name) => {
      expect(refusal(() => openZip(zipSync({ [name]: log }), "job.zip"))).toContain(
        "should hold only files inside the folder",
      );
    },
  );

  test("an encrypted file, a link, an unknown packing", () => {
    expect(refusal(() => openZip(written(zip, central + 8, 1, 2), "job.zip"))).toBe(
      "job.zip: should not be encrypted; 'job.json' is",
    );
    expect(refusal(() => openZip(written(zip, central + 38, 0xa1ff0000, 4), "job.zip"))).toBe(
      "job.zip: should hold files, not links; 'job.json' is a link",
    );
    expect(refusal(() => openZip(written(zip, central + 10, 12, 2), "job.zip"))).toContain("packed by method 12");
  });

  test("a bomb that says what it is", () => {
    const start = performance.now();
    const bomb = zipSync(
      { "job.json": folder["job.json"], "load.csv": new Uint8Array(zipLimits.ratioCountsFromBytes + 1) },
      { level: 9 },
    );
    expect(refusal(() => openZip(bomb, "job.zip"))).toContain("should unpack to at most 100 times its size; it says");
    expect(performance.now() - start).toBeLessThan(10_000);
  });

  test("a bomb that lies about its size stops at the size it says", () => {
    const bomb = zipSync({ "load.csv": new Uint8Array(50 * 2 ** 20) }, { level: 9 });
    const lying = written(bomb, placeOf(bomb, 0x02014b50) + 24, 1000, 4);
    expect(refusal(() => readAll(lying))).toBe(
      "load.csv: should be whole inside the zip; it goes on past the 1000 bytes that the zip says",
    );
  });

  test("sizes of more bytes than there are", () => {
    const huge = written(zip, central + 24, 0xfffffff0, 4);
    expect(refusal(() => openZip(huge, "job.zip"))).toMatch(/should unpack to at most/);
  });
});
