/**
 * Which readings belief rests on: what moved without a contact is no shift of one. Figures invented.
 */
import { expect, test } from "vitest";
import { usableReadings } from "../../../analysis/inference/usable-readings.ts";
import type { Reading } from "../../../analysis/reading/reading.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { keyedLevel } from "../../fixtures/keyed-level.ts";

const job = declaredJob();

const logged = (source: string, value: number, fields: Partial<Reading> = {}): Reading =>
  keyedLevel({
    source,
    engine: null,
    value,
    meter: source,
    gain: 0.003,
    counts: 0.001,
    session: source,
    ...fields,
  });
const clamped = { place: { quantity: "amps", through: "feed" } } as const;
const battery = { place: { quantity: "volts", from: "battery+", to: "battery-" }, seesSource: true } as const;
const moved = { disturbed: true } as const;

test("drops and current that rise by one share when the engine starts are no shift of a contact", () => {
  const levels = [logged("return", 0.5), logged("clamp", 11, clamped)];
  const after = [logged("return", 0.56, moved), logged("clamp", 12.3, { ...clamped, ...moved })];
  expect(usableReadings(job, [...levels, ...after])).toEqual(levels);
});

test("one drop that moves by another share than the current is a contact's", () => {
  const readings = [
    logged("return", 0.5),
    logged("clamp", 11, clamped),
    logged("return", 0.9, moved),
    logged("clamp", 10.8, { ...clamped, ...moved }),
  ];
  expect(usableReadings(job, readings)).toEqual(readings);
});

test("a current that goes away is an open contact's, though every drop goes with it", () => {
  const readings = [
    logged("return", 0.5),
    logged("clamp", 11, clamped),
    logged("return", -0.001, moved),
    logged("clamp", -0.07, { ...clamped, ...moved }),
  ];
  expect(usableReadings(job, readings)).toEqual(readings);
});

test("the battery's volts alone do not move by a contact that the drops beside them do not show", () => {
  const levels = [logged("battery", 12.4, battery), logged("return", 0.5)];
  expect(usableReadings(job, [...levels, logged("battery", 12.5, { ...battery, ...moved })])).toEqual(levels);
});

test("a level between two states of the engine is left to the states on either side of it", () => {
  const known = [logged("battery", 12.4, { ...battery, engine: "off" })];
  expect(usableReadings(job, [...known, logged("battery", 10.2, battery)])).toEqual(known);
  const alone = [logged("battery", 12.4, battery)];
  expect(usableReadings(job, alone)).toEqual(alone);
});

test("a voice that moves the level hides all shifts but an opening", () => {
  const speaking = declaredJob({ load: { transmitAmps: 11, emission: "ssb" } });
  const load = { place: { quantity: "volts", from: "load+", to: "load-" }, seesSource: true } as const;
  const levels = [logged("load", 12, load)];
  expect(usableReadings(speaking, [...levels, logged("load", 11.2, { ...load, ...moved })])).toEqual(levels);
  const opened = [...levels, logged("load", 0.2, { ...load, ...moved })];
  expect(usableReadings(speaking, opened)).toEqual(opened);
});
