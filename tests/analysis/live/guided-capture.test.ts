/**
 * Guided reading: the state is seen, the level is waited for, and both are right. Drawn streams where a case is meant,
 * simulated meters (tests/fixtures/meters, invented, seeds 2001 to 2060) where shares are.
 */
import { describe, expect, it } from "vitest";
import type { Captured } from "../../../analysis/live/guided-capture.ts";
import { GuidedCapture } from "../../../analysis/live/guided-capture.ts";
import { chanceOf } from "../../fixtures/chance.ts";
import { keyedStream } from "../../fixtures/meters/keyed-stream.ts";

/** Values at even times: 'volts × times' after each other. */
function drawn(everySeconds: number, ...stretches: readonly (readonly [value: number, times: number])[]) {
  const values = stretches.flatMap(([value, times]) => Array.from({ length: times }, () => value));
  return values.map((value, i) => ({ seconds: i * everySeconds, value }));
}

function firstCapture(capture: GuidedCapture, shown: readonly { seconds: number; value: number }[]): Captured | null {
  for (const { seconds, value } of shown) {
    const taken = capture.push(0, seconds, value);
    if (taken) return taken;
  }
  return null;
}

describe("a reading while keyed", () => {
  it("is taken once the level stands, and only then", () => {
    const capture = new GuidedCapture(["across-load"], { radio: "transmit", engine: "off" });
    const shown = drawn(0.25, [12.5, 12], [12.1, 1], [11.8, 8]);
    const taken = firstCapture(capture, shown)!;
    expect(taken.levels[0]!.value).toBeCloseTo(11.8, 3);
    expect(taken.keyedSeconds).toBe(3);
    expect(taken.seconds - 3.25).toBeLessThanOrEqual(1);
    expect(taken.engine).toBe("off");
  });

  it("waits for the key through any length of receiving", () => {
    const capture = new GuidedCapture(["drop"], { radio: "transmit" });
    expect(firstCapture(capture, drawn(0.1, [0.012, 5_000]))).toBeNull();
    expect(capture.waiting).toBe("keying");
  });

  it("is not taken of one stray value, nor of a drift", () => {
    const stray = new GuidedCapture(["across-load"], { radio: "transmit" });
    expect(firstCapture(stray, drawn(0.1, [12.5, 30], [11.2, 1], [12.5, 40]))).toBeNull();
    const drift = new GuidedCapture(["across-load"], { radio: "transmit" });
    const falling = Array.from({ length: 400 }, (_, i) => ({ seconds: i * 0.1, value: Math.round(12_500 - i) / 1000 }));
    expect(firstCapture(drift, falling)).toBeNull();
  });

  it("sees swapped probes and a clamp turned round: what grows may be negative", () => {
    const swapped = new GuidedCapture(["drop"], { radio: "transmit" });
    expect(firstCapture(swapped, drawn(0.25, [-0.01, 12], [-0.62, 8]))!.levels[0]!.value).toBeCloseTo(-0.62, 3);
    const load = new GuidedCapture(["across-load"], { radio: "transmit" });
    expect(firstCapture(load, drawn(0.25, [-12.5, 12], [-11.6, 8]))!.levels[0]!.value).toBeCloseTo(-11.6, 3);
  });

  it("is taken where no meter can see the key, once the person says so", () => {
    const capture = new GuidedCapture(["drop"], { radio: "transmit" });
    const shown = drawn(0.25, [0.003, 40]);
    for (const { seconds, value } of shown.slice(0, 20)) expect(capture.push(0, seconds, value)).toBeNull();
    capture.sayKeyed(5);
    const taken = shown.slice(20).map(({ seconds, value }) => capture.push(0, seconds, value));
    const found = taken.find((each) => each !== null)!;
    expect(found.levels[0]!.fromSeconds).toBeGreaterThanOrEqual(5);
    expect(found.keyedSeconds).toBe(5);
  });
});

describe("two meters on one clock", () => {
  it("are taken together, though only one of them sees the key", () => {
    const capture = new GuidedCapture(["across-load", "drop"], { radio: "transmit" });
    let taken: Captured | null = null;
    for (let i = 0; i < 60 && !taken; i++) {
      taken = capture.push(0, i * 0.25, i < 20 ? 12.5 : 11.7);
      taken ??= capture.push(1, i * 0.25 + 0.1, 0.004);
    }
    expect(taken!.levels.map(({ value }) => value)).toEqual([11.7, 0.004]);
    expect(Math.min(...taken!.levels.map(({ fromSeconds }) => fromSeconds))).toBeGreaterThanOrEqual(5);
    expect(taken!.keyedSeconds).toBe(5);
  });

  it("wait for each other", () => {
    const capture = new GuidedCapture(["across-load", "drop"], { radio: "idle" });
    for (let i = 0; i < 40; i++) expect(capture.push(0, i * 0.25, 12.5)).toBeNull();
    expect(capture.waiting).toBe("values");
  });
});

describe("the engine", () => {
  it("is heard starting, and a reading that wants it off waits", () => {
    const capture = new GuidedCapture(["across-load"], { radio: "transmit", engine: "off" });
    const started = drawn(0.25, [12.5, 12], [9.8, 3], [14.1, 12], [13.4, 12]);
    expect(firstCapture(capture, started)).toBeNull();
    expect(capture.engine).toBe("running");
    expect(capture.waiting).toBe("engine-off");
  });

  it("may be what the person says it is", () => {
    const capture = new GuidedCapture(["across-load"], { radio: "transmit", engine: "running" });
    capture.takeAnyEngine();
    expect(firstCapture(capture, drawn(0.25, [12.5, 12], [11.9, 12]))!.levels[0]!.value).toBeCloseTo(11.9, 3);
  });
});

it("a link lost while keyed takes nothing, and the next keying is taken", () => {
  const capture = new GuidedCapture(["across-load"], { radio: "transmit" });
  for (const { seconds, value } of drawn(0.25, [12.5, 12], [11.8, 1])) capture.push(0, seconds, value);
  capture.interrupt(0);
  const after = drawn(0.25, [12.5, 12], [11.8, 12]).map(({ seconds, value }) => ({ seconds: seconds + 20, value }));
  expect(firstCapture(capture, after)!.keyedSeconds).toBe(23);
});

it("simulated meters: right, soon, and never while the key moves", () => {
  let [captured, within, moving, notKeyed] = [0, 0, 0, 0];
  const waits: number[] = [];
  for (let seed = 2001; seed <= 2060; seed++) {
    const stream = keyedStream(chanceOf(seed));
    const taken = firstCapture(new GuidedCapture([stream.sight], { radio: "transmit" }), stream.shown);
    if (!taken) continue;
    captured++;
    const { takenSeconds } = stream.shown.find(({ seconds }) => seconds === taken.seconds)!;
    const place = stream.moves.findLastIndex(({ from }) => from <= takenSeconds);
    if (!stream.moves[place]?.keyed) notKeyed++;
    else if (takenSeconds < stream.moves[place].to) moving++;
    const [level] = taken.levels;
    if (Math.abs(level!.value - stream.truth(takenSeconds)) <= 1.96 * level!.uncertainty) within++;
    waits.push(taken.seconds - stream.settledFrom(place));
  }
  waits.sort((a, b) => a - b);
  console.log(`${within} of ${captured} within, median wait ${waits[captured >> 1]!.toFixed(2)} s`);
  expect(captured).toBeGreaterThanOrEqual(57);
  expect([moving, notKeyed]).toEqual([0, 0]);
  expect(within / captured).toBeGreaterThanOrEqual(0.95);
  expect(waits[captured >> 1]).toBeLessThanOrEqual(1.5);
});
