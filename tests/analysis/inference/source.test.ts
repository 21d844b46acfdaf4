/**
 * Faults of battery and charging, and what only looks like one. Rounds small enough to be judged by hand, figures invented;
 * limits: `formats.md` section 2 (half charge, 13.2 V, 15.0 V), rested volts of the BCI-type table there named.
 */
import { expect, test } from "vitest";
import { candidatesOf } from "../../../analysis/finding/candidate.ts";
import type { Job, TypedReading } from "../../../analysis/job/job.ts";
import { believeTyped, clamp, fourReadings, jobWithReadings, typed } from "../../fixtures/typed-round.ts";

const probabilities = (job: Job): Record<string, number> => {
  const sums: Record<string, number> = {};
  for (const { cause, probability } of candidatesOf(believeTyped(job).posterior))
    sums[cause] = Math.max(sums[cause] ?? 0, probability);
  return sums;
};
const first = (job: Job): string => candidatesOf(believeTyped(job).posterior)[0]!.cause;

const running = { engine: "running" } as const;
const idle = { radio: "idle" } as const;
const soundDrops = [typed("battery+", "load+", 0.22), typed("load-", "battery-", 0.07), clamp("feed", 11.4)];
const atBattery = (volts: number, fields: Partial<TypedReading>) => typed("battery+", "battery-", volts, fields);

test("half charge is where a sound battery ends", () => {
  const rested = (volts: number) =>
    jobWithReadings([...fourReadings(volts, volts - 0.12, volts - 0.02, volts - 0.41), ...soundDrops]);
  expect(first(rested(12.05))).toBe("low-charge");
  expect(first(rested(12.4))).toBe("supply-sound");
});

test("a battery just taken off the charger is not said to be full", () => {
  const readings = fourReadings(12.35, 12.23, 12.33, 11.94);
  const fresh = readings.map((reading) => ({ ...reading, restedHours: 0.2 }));
  const low = (list: TypedReading[]) => probabilities(jobWithReadings([...list, ...soundDrops]))["low-charge"] ?? 0;
  expect(low(fresh)).toBeGreaterThan(2 * low(readings));
});

test("what a weak battery shows from one keying to the next is not taken for a low one", () => {
  const job = jobWithReadings([...fourReadings(12.4, 11.3, 12.2, 11.45), ...soundDrops]);
  expect(first(job)).toBe("weak-battery");
});

test("a dead charging system leaves the battery's volts, and a low battery with it is seen", () => {
  const sound = probabilities(
    jobWithReadings([
      ...fourReadings(12.6, 12.47, 12.58, 12.16),
      ...soundDrops,
      atBattery(12.5, { ...running, ...idle }),
      atBattery(12.4, running),
    ]),
  );
  expect(sound["no-charging"]).toBeGreaterThan(0.95);
  expect(sound["low-charge"] ?? 0).toBeLessThan(0.05);
  const low = probabilities(
    jobWithReadings([
      ...fourReadings(11.9, 11.78, 11.88, 11.47),
      ...soundDrops,
      atBattery(11.85, { ...running, ...idle }),
      atBattery(11.75, running),
    ]),
  );
  expect(low["no-charging"]).toBeGreaterThan(0.9);
  expect(low["low-charge"]).toBeGreaterThan(0.9);
});

test("charging that is declared to vary may run low", () => {
  const readings = [
    ...fourReadings(12.6, 12.47, 12.58, 12.16),
    ...soundDrops,
    atBattery(12.9, { ...running, ...idle }),
    atBattery(12.85, running),
  ];
  expect(first(jobWithReadings(readings))).toBe("no-charging");
  expect(first(jobWithReadings(readings, { source: { charging: "variable" } }))).toBe("supply-sound");
});

test("a level of which nobody knows whether the engine ran does not hide a low battery", () => {
  const doubtful = { engine: undefined, ...idle } as unknown as Partial<TypedReading>;
  const job = jobWithReadings([...fourReadings(11.85, 11.73, 11.83, 11.42), ...soundDrops, atBattery(14.1, doubtful)]);
  expect(first(job)).toBe("low-charge");
});

test("a voice draws less on the meter than the data plate says, and that is no fault", () => {
  const readings = [
    ...fourReadings(12.6, 12.55, 12.58, 12.42),
    typed("battery+", "load+", 0.1),
    typed("load-", "battery-", 0.032),
    clamp("feed", 5.2),
  ];
  const load = { idleAmps: 0.6, transmitAmps: 11.5, minimumVolts: 11 };
  expect(first(jobWithReadings(readings, { load: { ...load, emission: "ssb" } }))).toBe("supply-sound");
});

test("a held lowest far below the level is a bound that says little", () => {
  const readings = [...fourReadings(12.6, 12.47, 12.58, 12.16), ...soundDrops];
  const held = jobWithReadings([...readings, typed("load+", "load-", 9.4, { held: "lowest" })]);
  expect(first(held)).toBe("supply-sound");
  expect(believeTyped(held).suspects).toEqual([]);
});
