/**
 * When steps came, behind filters and in noise. Figures are invented; the moments found are held against the true ones,
 * and their scatter against what they are said to be sure of.
 */
import { expect, test } from "vitest";
import { cutLogs } from "../../../analysis/state/cut-log.ts";
import { edgeMomentsOf } from "../../../analysis/state/edge-moment.ts";
import { type Chance, chanceOf } from "../../fixtures/chance.ts";
import { levelLog } from "../../fixtures/drawn-log.ts";

interface Meter {
  readonly filterSeconds: number;
  readonly noise: number;
  readonly intervalSeconds: number;
}

/** A log of eight transmissions and what was found of their sixteen edges: how late, and how surely. */
function edgesFound(chance: Chance, { filterSeconds, noise, intervalSeconds }: Meter) {
  const truth = Array.from({ length: 16 }, (_, i) => 8 * (i + 1) + chance.between(0, 2));
  const answer = (at: number) => (at <= 0 ? 0 : filterSeconds > 0 ? 1 - Math.exp(-at / filterSeconds) : 1);
  const plain = levelLog({ 0: 0 }, 140, { intervalSeconds, resolution: 1e-5 });
  const values = plain.seconds.map((now) => {
    const keyed = truth.reduce((sum, at, i) => sum + (i % 2 === 0 ? 1 : -1) * answer(now - at), 0);
    return 0.02 + 0.2 * keyed + noise * chance.normal();
  });
  const log = cutLogs([{ ...plain, values }])[0]!;
  const momentAt = edgeMomentsOf(log, "drop");
  const indexes = log.segments.slice(1).map(({ from }) => from);
  return truth.map((at) => {
    const index = indexes.reduce((best, each) =>
      Math.abs(plain.seconds[each]! - at) < Math.abs(plain.seconds[best]! - at) ? each : best,
    );
    const { seconds, uncertainty } = momentAt(index);
    const between = (plain.seconds[index]! + plain.seconds[index - 1]!) / 2;
    return { late: seconds - at, uncertainty, lateBetween: between - at };
  });
}

const rootMeanSquare = (values: readonly number[]) =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

test.each<[string, Meter, number]>([
  ["no filter", { filterSeconds: 0, noise: 0.002, intervalSeconds: 0.2 }, 0.07],
  ["a filter of an interval", { filterSeconds: 0.2, noise: 0.002, intervalSeconds: 0.2 }, 0.03],
  ["a filter in noise", { filterSeconds: 0.25, noise: 0.04, intervalSeconds: 0.1 }, 0.09],
])("%s: the moment when the key went down, not when the meter had seen it", (title, meter, most) => {
  const chance = chanceOf(41);
  const found = Array.from({ length: 12 }, () => edgesFound(chance, meter)).flat();
  const error = rootMeanSquare(found.map(({ late }) => late));
  const before = rootMeanSquare(found.map(({ lateBetween }) => lateBetween));
  const held = found.filter(({ late, uncertainty }) => Math.abs(late) < 2 * uncertainty).length / found.length;
  console.log(
    `${title}: off by ${error.toFixed(3)} s, half way between samples by ${before.toFixed(3)} s, within two uncertainties ${(100 * held).toFixed(1)} %`,
  );
  expect(error).toBeLessThan(most);
  expect(error).toBeLessThan(1.05 * before);
  expect(held).toBeGreaterThan(0.9);
});

test("a step beside a pause of the log is not known better than the pause is long", () => {
  const plain = levelLog({ 0: 0, 10: 0.2 }, 20, { intervalSeconds: 0.1 });
  const kept = Array.from(plain.seconds, (_, i) => i).filter((i) => plain.seconds[i]! < 9 || plain.seconds[i]! > 12);
  const log = cutLogs([
    {
      ...plain,
      seconds: Float64Array.from(kept, (i) => plain.seconds[i]!),
      values: Float64Array.from(kept, (i) => plain.values[i]!),
    },
  ])[0]!;
  const { seconds, uncertainty } = edgeMomentsOf(log, "drop")(log.segments[1]!.from);
  expect(seconds).toBeGreaterThan(9);
  expect(seconds).toBeLessThan(12.1);
  expect(uncertainty).toBeGreaterThan(0.6);
});
