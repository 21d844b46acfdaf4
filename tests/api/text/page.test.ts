// The page holds 80 columns whatever comes in; a file cannot reach the terminal through it.
import fc from "fast-check";
import { expect, test } from "vitest";
import { cell, cellRight, columnsOf, inAscii, pageInAscii, safe, showsUtf8, wrapped } from "../../../api/text/page.ts";

test("wrapped lines hold 80 columns and every word", () => {
  fc.assert(
    fc.property(
      fc.string({ unit: "grapheme", maxLength: 400 }),
      fc.constantFrom("", "  - ", "           Do: "),
      (text, lead) => {
        const lines = wrapped(lead, text);
        for (const line of lines) expect(columnsOf(line)).toBeLessThanOrEqual(80);
        const said = lines.map((line) => line.slice(lead.length)).join("");
        expect(said.replaceAll(" ", "")).toBe(safe(text).replaceAll(" ", ""));
      },
    ),
    { seed: 1 },
  );
});

test("a cell has its width, cut or filled", () => {
  fc.assert(
    fc.property(fc.string({ unit: "grapheme" }), fc.integer({ min: 2, max: 30 }), (text, columns) => {
      expect(columnsOf(cell(safe(text), columns))).toBe(columns);
      expect(columnsOf(cellRight(safe(text), columns))).toBe(columns);
    }),
    { seed: 1 },
  );
});

test("nothing from a file moves the cursor", () => {
  expect(safe("plug\u001b[2J\u0007 and\nstud\u202e")).toBe("plug·[2J· and stud·");
});

test.each([
  ["0.55 V ± 0.02 V, 48 mΩ, −0.3 V", "0.55 V +/- 0.02 V, 48 mohm, -0.3 V"],
  ["Kühlraum, 25 °C, 6 mm²", "Kuhlraum, 25 deg C, 6 mm2"],
  ["█▒│┊·▶", "#=|:.>"],
  ["蓄電池", "???"],
])("%s in ASCII", (text, ascii) => {
  expect(inAscii(text)).toBe(ascii);
});

test("a page in ASCII still holds 80 columns", () => {
  const line = `  - ${"1 Ω ± 2 Ω; ".repeat(6)}end`;
  for (const ascii of pageInAscii([line])) expect(ascii.length).toBeLessThanOrEqual(80);
});

test.each([
  [{}, true],
  [{ LANG: "C.UTF-8" }, true],
  [{ LANG: "de_DE.utf8" }, true],
  [{ LANG: "C" }, false],
  [{ LANG: "C.UTF-8", LC_ALL: "POSIX" }, false],
  [{ LANG: "en_US.ISO-8859-1", LC_ALL: "" }, false],
])("%j shows UTF-8: %s", (environment, shows) => {
  expect(showsUtf8(environment)).toBe(shows);
});
