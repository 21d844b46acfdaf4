/**
 * One log to be written in any form: 40 rows of a set that is keyed twice, and what must be read of them.
 */
import { expect } from "vitest";
import type { Recording } from "../../../analysis/job/job.ts";
import { readLog } from "../../../analysis/log/log-reader.ts";

export const volts: Recording = { file: "log.csv", round: "before", quantity: "volts", from: "load+", to: "load-" };
export const amps: Recording = { file: "log.csv", round: "before", quantity: "amps", through: "feed" };

export const rows = Array.from({ length: 40 }, (_, i) => i);
export const keyed = (i: number) => i % 20 >= 10;
export const truth = (i: number) => (keyed(i) ? 1132 + (i % 3) : 1255 + (i % 4)) / 100;
export const ampsTruth = (i: number) => (keyed(i) ? 114 + (i % 2) : 6) / 10;
export const half = (i: number) => (i / 2).toFixed(1);
export const comma = (number: string) => number.replace(".", ",");
export const lines = (row: (i: number) => string, order: readonly number[] = rows) =>
  order.map((i) => `${row(i)}\n`).join("");

/** Hours, minutes, seconds with these marks between. */
export function clock(seconds: number, mark: string, decimals = 0): string {
  const whole = Math.floor(seconds);
  const parts = [whole / 3600, (whole / 60) % 60, whole % 60].map((part) => `${Math.floor(part)}`.padStart(2, "0"));
  return parts.join(mark) + (decimals === 0 ? "" : (seconds % 1).toFixed(decimals).slice(1));
}

export const ten = 36_000;
export const march4 = Date.UTC(2026, 2, 4) / 1000;

export function read(text: string, ...recordings: Recording[]) {
  return readLog("log.csv", new TextEncoder().encode(text), recordings.length > 0 ? recordings : [volts]);
}

/** The log has the drawn values, so many seconds apart. */
export function expectDrawn(text: string, stepSeconds: number, recording: Recording = volts) {
  const [log] = read(text, recording);
  const { seconds, values } = log!.samples;
  const drawn = recording.quantity === "volts" ? truth : ampsTruth;
  expect([...values]).toEqual(rows.map(drawn));
  seconds.forEach((second, i) => void expect(second).toBeCloseTo(i * stepSeconds, 6));
  return log!;
}
