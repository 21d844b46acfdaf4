/**
 * Trouble that is newer than the earlier round is told in the later round's warnings, and only that.
 */
import { expect, test } from "vitest";
import type { Job } from "../../../analysis/job/job.ts";
import { badStud, diagnosed, type TrueRound } from "./metered-round.ts";

const before: TrueRound = { round: "before", ohms: badStud };
const news = (rounds: readonly TrueRound[], fields: Partial<Job> = {}) =>
  diagnosed(rounds, fields)
    .diagnosis.rounds.at(-1)!
    .warnings.filter((warning) => /newer than|worse than/.test(warning));

test("a joint that was sound and is bad now", () => {
  const [told, ...others] = news([before, { round: "after", ohms: { "plug-positive": 0.04 } }]);
  expect(told).toMatch(/^newer than 'before': bad joint at plug-positive \((over )?9\d % sure\)$/);
  expect(others).toEqual([]);
});

test("a battery that has given way, a set that draws more", () => {
  expect(news([before, { round: "after", batteryOhms: 0.07 }]).join()).toMatch(/newer than 'before': .*battery/);
  expect(news([before, { round: "after", transmitAmps: 17 }]).join()).toMatch(/newer than 'before': set draws more/);
});

test("a fault that was there already, mended or not, is no news; nor is a set turned down", () => {
  expect(news([before, { round: "after" }])).toEqual([]);
  expect(news([before, { round: "after", ohms: badStud }])).toEqual([]);
  expect(news([before, { round: "after", transmitAmps: 8 }])).toEqual([]);
  expect(news([{ round: "before" }, { round: "after" }])).toEqual([]);
});

test("a fault that has grown is told as worse, with the volts", () => {
  const grown = news([
    { round: "before", ohms: { "plug-positive": 0.03 } },
    { round: "after", ohms: { "plug-positive": 0.09 } },
  ]);
  expect(grown).toHaveLength(1);
  // 0.06 Ω more at 11.4 A
  expect(grown[0]).toMatch(/plug-positive is worse than in 'before' by 0\.6\d V keyed/);
});
