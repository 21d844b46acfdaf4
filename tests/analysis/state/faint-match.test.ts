/**
 * Logs whose keying is too small to be seen, laid over a group that shows it: how far off, how often within what is said,
 * and nothing where there is nothing. Figures are invented: a tenth of a volt of keying in a tenth of noise and less.
 */
import { expect, test } from "vitest";
import type { EdgeTrain } from "../../../analysis/state/clock-match.ts";
import { matchFaint } from "../../../analysis/state/faint-match.ts";
import type { PreparedLog } from "../../../analysis/state/stretch.ts";
import { chanceOf } from "../../fixtures/chance.ts";

type Chance = ReturnType<typeof chanceOf>;

/** Keyed for some seconds and released again, through some minutes. */
function keyings(chance: Chance, period: number | null): EdgeTrain {
  let at = 12;
  const edges = Array.from({ length: 16 }, (_, i) => {
    at += period ?? chance.between(3, 14);
    return { seconds: at, kind: i % 2 === 0 ? 1 : -1, uncertainty: 0.03, keying: true, supplyStep: null };
  });
  return { edges, seconds: at + 20, intervalSeconds: 0.1 };
}

/** A log that begins `start` seconds after the group, moves by `height` where it is keyed, and drifts. */
function faintLog(chance: Chance, { edges, seconds }: EdgeTrain, start: number, height: number): PreparedLog {
  const every = 0.25;
  const count = Math.floor((seconds - start) / every);
  const times = Float64Array.from({ length: count }, (_, i) => i * every);
  const values = times.map((own) => {
    const passed = edges.filter((edge) => edge.seconds < own + start).length;
    const noise = Math.sqrt(-2 * Math.log(chance.between(1e-9, 1))) * Math.cos(chance.between(0, 2 * Math.PI));
    return 12.6 - 0.0002 * own - (passed % 2 === 1 ? height : 0) + 0.02 * noise;
  });
  return {
    samples: { seconds: times, values, intervalSeconds: every },
    movement: { direction: -1 },
    noise: { sample: 0.02, tie: 1 },
  } as unknown as PreparedLog;
}

const noEdges = { edges: [], seconds: 0, intervalSeconds: 1 };

test("steps of a noise's height are found together, as near as is said", () => {
  const chance = chanceOf(5);
  const off: number[] = [];
  let found = 0;
  for (let game = 0; game < 60; game++) {
    const group = keyings(chance, null);
    const start = chance.between(0, 15);
    const match = matchFaint(group, faintLog(chance, group, start, 0.02), noEdges, 0, 60);
    if (match === null) continue;
    found++;
    off.push(Math.abs(match.startSeconds - start) / match.startUncertainty);
  }
  const held = off.filter((each) => each < 2).length;
  console.log(`found ${found} of 60; worst ${Math.max(...off).toFixed(1)} uncertainties, within two ${held}`);
  expect(found).toBeGreaterThan(54);
  expect(held / found).toBeGreaterThan(0.93);
});

test("where nothing is keyed nothing is found", () => {
  const chance = chanceOf(6);
  for (let game = 0; game < 40; game++) {
    const group = keyings(chance, null);
    expect(matchFaint(group, faintLog(chance, group, 5, 0), noEdges, 0, 60)).toBeNull();
  }
});

test("keying in a steady beat fits at more than one offset", () => {
  const chance = chanceOf(7);
  const group = keyings(chance, 8);
  expect(matchFaint(group, faintLog(chance, group, 60, 0.05), noEdges, 0, 6000)).toBeNull();
});
