// Vectors of ../shared/reference/open-formats.md, sections 1 to 3, each with the source named there: number responses of
// IEEE 488.2, published NMEA 0183 XDR sentences, test bytes of the Bluetooth SIG's electrical characteristics.
import { describe, expect, test } from "vitest";
import { builtInRecipes } from "../../../analysis/teach/built-in-recipes.ts";
import { checkRecipe, type Reading, readStream } from "../../../analysis/teach/recipe.ts";

const recipe = (id: string) => builtInRecipes.find((built) => built.id === id)!.recipe;
const ascii = (text: string) => Uint8Array.from(text, (letter) => letter.charCodeAt(0));
const read = (id: string, bytes: Uint8Array) => readStream(recipe(id), [{ seconds: 1, bytes }]);
const said = (readings: readonly Reading[]) =>
  readings.map((reading) =>
    "value" in reading ? `${reading.value} ${reading.unit}` : "overRange" in reading ? "over-range" : "damaged",
  );

test("each is a sound document that survives being written and read again", () => {
  for (const { recipe } of builtInRecipes) expect(checkRecipe(JSON.parse(JSON.stringify(recipe)))).toEqual(recipe);
  expect(new Set(builtInRecipes.map(({ id }) => id)).size).toBe(builtInRecipes.length);
});

describe("IEEE 488.2 number responses", () => {
  test.each([
    ["273\n", "273 V"],
    ["0.273\n", "0.273 V"],
    ["2.73E+2\n", "273 V"],
    ["-1.24700000E+01\r\n", "-12.47 V"],
    ["+9.90000000E+37\n", "over-range"],
    ["-9.9E+37\n", "over-range"],
    ["9.91E37\n", "over-range"],
    ["9.91E+37\n", "over-range"],
    ["OVLOAD\n", "over-range"],
    ["OVFLOW\n", "over-range"],
    ["O.L\n", "over-range"],
    ["101.234e-3 V DC\n", "0.101234 V"],
    ["1.2E\n", "damaged"],
    ["ERROR\n", "damaged"],
  ])("%j", (text, expected) => {
    expect(said(read("scpi-V", ascii(text)))).toEqual([expected]);
  });
});

test("text lines carry their own unit; a line without one is no reading", () => {
  expect(said(read("text-lines", ascii("DC 12.47 V\n-3.2mA\n1.5 A\n OL V\n12.47\n")))).toEqual([
    "12.47 V",
    "-3.2 mA",
    "1.5 A",
    "over-range",
    "damaged",
  ]);
});

describe("NMEA 0183 XDR", () => {
  test.each([
    ["$IIXDR,U,12.154,V,BatWiFi*16", "12.154 V"],
    ["$AAXDR,U,12.34,V,TRINKET*3C", "12.34 V"],
    ["$IIXDR,U,13.0,V,MAIN*5A", "13 V"],
    ["$IIXDR,U,13.1,V,MAIN*5B", "13.1 V"],
    ["1650000000 $IIXDR,U,12.154,V,BatWiFi*16", "12.154 V"],
  ])("%s", (sentence, expected) => {
    expect(said(read("nmea-xdr-V", ascii(`${sentence}\r\n`)))).toEqual([expected]);
  });

  test("a wrong check is damage, a sound sentence of another kind is passed over", () => {
    expect(said(read("nmea-xdr-V", ascii("$IIXDR,U,13.0,V,MAIN*5B\r\n")))).toEqual(["damaged"]);
    expect(said(read("nmea-xdr-A", ascii("$IIXDR,U,13.0,V,MAIN*5A\r\n")))).toEqual([]);
  });

  test("a sentence cut off by the next is damaged, and the next is read", () => {
    const text = "$IIXDR,U,13.1,V,MAIN*5B\r\n$IIXDR,U,13.0,V,M$IIXDR,U,13.1,V,MAIN*5B\r\n";
    expect(said(read("nmea-xdr-V", ascii(text)))).toEqual(["13.1 V", "damaged", "13.1 V"]);
  });
});

describe("Bluetooth SIG characteristics", () => {
  test.each([
    ["gatt-2b18", [0xc0, 0x00], "3 V"],
    ["gatt-2b18", [0x00, 0x01], "4 V"],
    ["gatt-2aee", [0x96, 0x00], "1.5 A"],
    ["gatt-2aee", [0x9a, 0x04], "11.78 A"],
    ["gatt-2ae1", [0x40, 0x00, 0x00], "1 V"],
    ["gatt-2b1a", [0x40, 0x0d, 0x40, 0x00, 0x80, 0x0c, 0x00, 0x0f, 0x40], "53 V"],
  ])("%s %j", (id, bytes, expected) => {
    expect(said(read(id, Uint8Array.from(bytes)))).toEqual([expected]);
  });

  test("the highest code is no reading, a wrong length is damage", () => {
    expect(said(read("gatt-2b18", Uint8Array.of(0xff, 0xff)))).toEqual([]);
    expect(said(read("gatt-2aee", Uint8Array.of(0x96)))).toEqual(["damaged"]);
  });
});
