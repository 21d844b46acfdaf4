// Rows out of the order of their time, and clocks that only seem so: invented logs, the truth is the log of drawn-export.ts.
import { describe, expect, test } from "vitest";
import { chanceOf } from "../../fixtures/chance.ts";
import { clock, expectDrawn, lines, read, rows, ten, truth } from "./drawn-export.ts";

const iso = (i: number) => `2026-03-04T${clock(ten + 7 * i, ":")}`;
const inFile = (order: readonly number[], stamp: (i: number) => string) =>
  `Time,Volts\n${lines((i) => `${stamp(i)},${truth(i)}`, order)}`;

function shuffled(seed: number): number[] {
  const chance = chanceOf(seed);
  return rows
    .map((i) => ({ i, at: chance.between(0, 1) }))
    .sort((a, b) => a.at - b.at)
    .map(({ i }) => i);
}

const orders: [string, readonly number[]][] = [
  ["shuffled", shuffled(1)],
  ["a ring memory, the oldest rows in the middle", [...rows.slice(17), ...rows.slice(0, 17)]],
  ["neighbours changed over", rows.map((i) => (i % 10 === 5 ? i + 1 : i % 10 === 6 ? i - 1 : i))],
  ["three parts joined in the wrong order", [...rows.slice(30), ...rows.slice(10, 30), ...rows.slice(0, 10)]],
];

describe("rows out of order are sorted, and it is said", () => {
  test.each(orders)("%s, dated", (_, order) => {
    const log = expectDrawn(inFile(order, iso), 7);
    expect(log.samples.startEpochSeconds).toBe(Date.UTC(2026, 2, 4, 10) / 1000);
    expect(log.warnings.join()).toContain("they were sorted");
    expect(log.decisions.find(({ what }) => what === "rowOrder")?.value).toContain("sorted by time");
  });

  test.each(orders)("%s, in seconds", (_, order) => {
    expectDrawn(
      inFile(order, (i) => `${7 * i}`),
      7,
    );
  });

  test("least and greatest go with their value", () => {
    const text = `Time (s),Volts,Min,Max\n${lines((i) => `${i},${truth(i)},${truth(i) - 1},${truth(i) + 1}`, shuffled(2))}`;
    const log = expectDrawn(text, 1);
    expect(log.extremes!.lowest).toEqual(Float64Array.from(rows, (i) => truth(i) - 1));
  });

  test("logged on change, at no regular steps", () => {
    const at = rows.map((i) => i * i);
    const [log] = read(inFile(shuffled(3), (i) => `${at[i]}`));
    expect([...log!.samples.values]).toEqual(rows.map(truth));
    expect([...log!.samples.seconds]).toEqual(at);
  });

  test("a million rows with the oldest in the middle take no longer than reading them", () => {
    const n = 1_000_000;
    const text = `Time (s),Volts\n${Array.from({ length: n }, (_, k) => `${((k + n / 3) % n) | 0},12.5`).join("\n")}\n`;
    const start = performance.now();
    const [log] = read(text);
    console.log(`${n} rows in two parts: ${(performance.now() - start).toFixed(0)} ms`);
    expect(log!.samples.seconds.at(-1)).toBe(n - 1);
  });
});

describe("a clock that steps back is none", () => {
  const at = (second: (i: number) => number) =>
    read(inFile(rows, (i) => `2026-03-04T${clock(ten + second(i), ":")}`))[0]!;

  test.each([
    ["set back within the log", (i: number) => 7 * i - (i >= 20 ? 60 : 0)],
    ["set back by whole steps", (i: number) => 7 * i - (i >= 20 ? 70 : 0)],
    ["begun anew long before", (i: number) => (i < 20 ? 5000 : 0) + 7 * i],
    ["begun anew five times", (i: number) => 7 * (i % 8)],
  ])("%s", (_, second) => {
    const log = at(second);
    expect([...log.samples.values]).toEqual(rows.map(truth));
    expect(log.warnings.join()).toMatch(/steps back/);
  });

  test("one damaged stamp is mended where it stands", () => {
    const log = at((i) => (i === 20 ? 33 : 7 * i));
    expect([...log.samples.values]).toEqual(rows.map(truth));
    expect(log.samples.seconds[20]).toBeCloseTo(140, 6);
  });
});
