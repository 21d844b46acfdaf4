/**
 * From plateaus to readings where a log says less than it seems to. Figures invented.
 */
import { describe, expect, test } from "vitest";
import type { Recording } from "../../../analysis/job/job.ts";
import type { LogReading } from "../../../analysis/log/sample.ts";
import { type LoggedRecording, readingsOf } from "../../../analysis/reading/readings.ts";
import type { LogEvent, Plateau } from "../../../analysis/state/plateau.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";

const job = declaredJob();

const plateau = (startSeconds: number, endSeconds: number, value: number, fields: Partial<Plateau> = {}): Plateau => ({
  startSeconds,
  endSeconds,
  engine: null,
  radio: null,
  value,
  uncertainty: 0.0002,
  samples: 20,
  drift: 0,
  disturbance: null,
  ...fields,
});
const keyed = { radio: "transmit" } as const;
const idle = { radio: "idle" } as const;

const logged = (
  from: string,
  to: string,
  plateaus: Plateau[],
  events: LogEvent[] = [],
  gapSeconds: number[] = [],
): LoggedRecording => ({
  recording: { file: `${from} ${to}.csv`, round: "before", quantity: "volts", from, to } as Recording,
  log: { samples: { resolution: 0.001, gapSeconds: Float64Array.from(gapSeconds) } } as unknown as LogReading,
  states: {
    plateaus,
    events,
    offsetSeconds: 0,
    offsetUncertaintySeconds: 0,
    driftPpm: 0,
    warnings: [],
  },
});
const returnDrop = logged("load-", "battery-", [plateau(0, 10, 0.003, idle), plateau(10, 15, 0.06, keyed)]);

describe("a drop log in which nothing steps", () => {
  const flat = (seconds: number) => logged("fuse-out", "load+", [plateau(0, seconds, 0.002)]);
  const of = (entries: LoggedRecording[]) =>
    readingsOf(job, entries, []).filter(({ source }) => /fuse-out/.test(source));

  test("was keyed as the others were, as far as its counts tell", () => {
    const [reading, ...more] = of([returnDrop, flat(20)]);
    expect(more).toEqual([]);
    expect(reading).toMatchObject({ radio: "transmit", keyingUnseen: true, value: 0.002, seconds: 20 });
    expect(reading!.noise).toBeGreaterThanOrEqual(0.001);
  });

  test("says nothing where no other log was keyed", () => {
    expect(of([logged("load-", "battery-", [plateau(0, 10, 0.003, idle)]), flat(20)])).toEqual([]);
  });

  test("says nothing where it is too short to have been keyed", () => {
    expect(of([returnDrop, flat(3)])).toEqual([]);
  });

  test("says nothing where it sees the source: keying would have moved it", () => {
    const load = logged("load+", "load-", [plateau(0, 20, 12.4)]);
    expect(readingsOf(job, [returnDrop, load], []).map(({ source }) => source)).not.toContain("load+ load-.csv");
  });
});

describe("a shift that takes the meter over its range", () => {
  const broken = { ...keyed, disturbance: "contact-break" } as const;
  const breaks: LogEvent[] = [{ kind: "contact-break", seconds: 12 }];
  const supply = (shifted: Plateau, gaps: number[]) =>
    readingsOf(
      job,
      [logged("battery+", "load+", [plateau(0, 10, 0.03, idle), plateau(10, 12, 0.3, keyed), shifted], breaks, gaps)],
      [],
    ).filter(({ disturbed }) => disturbed);

  test("leaves no shifted level where the log stands as it did before", () => {
    expect(supply(plateau(16, 18, 0.301, broken), [12.5, 13.5, 14.5])).toEqual([]);
  });

  test("leaves one where it moved within the range", () => {
    expect(supply(plateau(17, 19, 2.4, broken), [12.5, 13.5, 14.5])).toHaveLength(1);
  });

  test("is no matter where no values are missing", () => {
    expect(supply(plateau(12, 15, 0.301, broken), [])).toHaveLength(1);
  });
});
