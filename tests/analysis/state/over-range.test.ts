/** Over-range of a meter across part of the loop. Figures are invented. */
import { expect, test } from "vitest";
import type { Samples } from "../../../analysis/log/sample.ts";
import { overRangeIn } from "../../../analysis/state/over-range.ts";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, ground, keyedAt, kinds, noisy, recorded, states } from "./hand-drawn-round.ts";

/** The same log with its numbers from … to marked as over-range. */
function over(samples: Samples, from: number, to: number): Samples {
  const marked = (t: number) => t >= from - 1e-9 && t < to - 1e-9;
  const seconds = samples.seconds.filter((t) => !marked(t));
  const values = samples.values.filter((_, i) => !marked(samples.seconds[i]!));
  const gapSeconds = Float64Array.from([...samples.gapSeconds, ...samples.seconds.filter(marked)]).sort();
  return { ...samples, seconds, values, gapSeconds };
}

const drop = () => levelLog(keyedAt(0.03, 0.4), 60, { noise: noisy(1, 0.002) });

test("a span has its marks, and a mark or two is none", () => {
  const [span, ...rest] = overRangeIn(over(over(drop(), 24, 26), 10, 10.2));
  expect(rest).toHaveLength(0);
  expect(span!.start).toBeCloseTo(23.95, 6);
  expect(span!.end).toBeCloseTo(25.95, 6);
});

test("a log that is over range while keyed has an open contact", () => {
  const [found] = states({}, recorded(ground, over(drop(), 24, 26)));
  expect(kinds(found!)).toEqual(["keyed", "released", "keyed", "contact-break", "released", "keyed", "released"]);
  const broken = found!.events.find((event) => event.kind === "contact-break")!;
  expect(Math.abs(broken.seconds - 24)).toBeLessThan(0.11);
  expect(Math.abs(at(found!, 28)!.value - 0.4)).toBeLessThan(0.002);
});

test("a meter whose range is too low for any keying tells of no contact", () => {
  const [found] = states({}, recorded(ground, over(over(over(drop(), 10, 15), 22, 30), 41, 47)));
  expect(kinds(found!)).not.toContain("contact-break");
});
