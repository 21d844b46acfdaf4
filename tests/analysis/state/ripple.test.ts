/** What goes on for as long as an engine runs, and what is over sooner. Figures are invented. */
import { expect, test } from "vitest";
import { ripplesAfter } from "../../../analysis/state/ripple.ts";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { noisy } from "./hand-drawn-round.ts";

/** Half a minute of quiet, a dip of a sample, then half a minute of which so much is lively. */
const livelyFor = (seconds: number) => {
  const [quiet, lively] = [noisy(1, 0.001), noisy(2, 0.05)];
  const noise = (i: number) => (i > 61 && i < 62 + 2 * seconds ? lively() : quiet());
  return levelLog({ 0: 12.5, 30: 12.1, 30.5: 12.49 }, 60, { intervalSeconds: 0.5, noise });
};

test("ripple goes on", () => {
  expect(ripplesAfter(livelyFor(30), 60, 61)).toBe(true);
});

test("a set that lets go again and again for a while leaves a quiet battery", () => {
  expect(ripplesAfter(livelyFor(7), 60, 61)).toBe(false);
});
