// JCGM 100:2008 (GUM), 7.2.6: y = 10.057 62 Ω with u = 27 mΩ is to be stated as 10.058 Ω (example from memory).
import fc from "fast-check";
import { expect, test } from "vitest";
import {
  decimalPlaces,
  fixed,
  percent,
  plainVolts,
  valueForPrint,
  withInterval,
} from "../../analysis/round-for-print.ts";
import { quantity } from "../../analysis/uncertain.ts";

test("the Guide's own example", () => {
  expect(valueForPrint(quantity(10.05762, 0.027), "Ω")).toBe("10.058 Ω");
});

test.each([
  [0.027, 3],
  [0.029, 3],
  [0.03, 2],
  [0.34, 1],
  [0.0999, 2], // 0.0999 is 0.10 in two digits
  [0.95, 1],
  [0.996, 1], // 1.0
  [1.4, 1],
  [3, 0],
  [250, 0],
  [0, 2],
  [Number.NaN, 2],
  [1e-12, 6],
])("an uncertainty of %d gives %d decimals", (uncertainty, decimals) => {
  expect(decimalPlaces(uncertainty)).toBe(decimals);
});

test.each([
  [withInterval(quantity(12.4137, 0.0102), "V"), "12.414 V ± 0.020 V"],
  [withInterval(quantity(11.98, 0.05), "V"), "11.98 V ± 0.10 V"],
  [withInterval(quantity(0.0486, 0.0021), "Ω"), "49 mΩ ± 4 mΩ"],
  [withInterval({ value: 0.01, low: 0.009, high: 0.04, uncertainty: 0.008 }, "Ω"), "10 mΩ (9 to 40)"],
  [withInterval(null, "V"), "–"],
  [withInterval(quantity(11.5, 0), "A"), "11.50 A"],
  [valueForPrint(quantity(-0.0001, 0.03), "V"), "0.00 V"],
  [valueForPrint(quantity(-0.31, 0.03), "V"), "−0.31 V"],
  [valueForPrint({ ...quantity(1, 1), value: Number.NaN }, "V"), "–"],
  [plainVolts(0.5513), "0.55 V"],
  [plainVolts(0.0042), "0.004 V"],
  [percent(0.934), "93 %"],
  [percent(0.9999), "over 99 %"],
  [percent(0.0001), "under 1 %"],
  [fixed(-0.004, 2), "0.00"],
])("%s", (printed, expected) => {
  expect(printed).toBe(expected);
});

test("rounding moves a value by less than a quarter of its uncertainty", () => {
  let worst = 0;
  fc.assert(
    fc.property(
      fc.double({ min: -20, max: 20, noNaN: true }),
      fc.double({ min: 1e-4, max: 5, noNaN: true }),
      (value, uncertainty) => {
        const printed = Number(fixed(value, decimalPlaces(uncertainty)).replace("−", "-"));
        worst = Math.max(worst, Math.abs(printed - value) / uncertainty);
        expect(Math.abs(printed - value)).toBeLessThan(0.25 * uncertainty);
      },
    ),
    { seed: 1, numRuns: 5000 },
  );
  console.log(`rounding for print: at most ${worst.toFixed(3)} of the uncertainty`);
});
