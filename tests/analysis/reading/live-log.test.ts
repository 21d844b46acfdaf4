/** A level that was captured live and the log that was taken along are one measurement: it counts once. Drawn values. */
import { expect, it } from "vitest";
import { checkJob } from "../../../analysis/index.ts";
import { readLog } from "../../../analysis/log/log-reader.ts";
import { readingsOf } from "../../../analysis/reading/readings.ts";
import { findStates } from "../../../analysis/state/states.ts";

const keyed = (seconds: number) => (seconds > 8 && seconds < 14) || (seconds > 20 && seconds < 26);
const rows = Array.from({ length: 300 }, (_, i) => {
  const volts = (keyed(i / 10) ? 11.8 : 12.5) + ((i * 7) % 3) / 1000;
  return `${(i / 10).toFixed(3)},${volts.toFixed(3)}`;
});
const text = `seconds,volts\n${rows.join("\n")}\n`;

function read(log: string | undefined) {
  const { job, warnings } = checkJob({
    format: "job/1",
    loop: [
      { point: "battery+" },
      { part: "wire", id: "feed", awg: 10, metres: 4 },
      { point: "load+" },
      { part: "load" },
      { point: "load-" },
      { part: "wire", id: "ground", awg: 10, metres: 1 },
      { point: "battery-" },
    ],
    load: { transmitAmps: 12, idleAmps: 1 },
    recordings: [
      {
        file: "live.csv",
        round: "before",
        quantity: "volts",
        from: "load+",
        to: "load-",
        engine: "off",
        concurrent: false,
      },
    ],
    readings: [
      {
        round: "before",
        from: "load+",
        to: "load-",
        volts: 11.8,
        engine: "off",
        radio: "transmit",
        ...(log ? { log } : {}),
      },
    ],
  });
  const [reading] = readLog("live.csv", new TextEncoder().encode(text), job.recordings);
  const [states] = findStates(job, [{ recording: job.recordings[0]!, samples: reading!.samples }]);
  const logged = [{ recording: job.recordings[0]!, log: reading!, states: states! }];
  const found = readingsOf(job, logged, job.readings).filter(({ radio }) => radio === "transmit");
  return { found, warnings };
}

it("the log speaks where it shows that state", () => {
  const { found, warnings } = read("live.csv");
  expect(found.map(({ logged }) => logged)).toEqual([true]);
  expect(warnings.filter((words) => words.includes("not known"))).toEqual([]);
});

it("a reading of another log, or of none, counts beside it", () => {
  expect(read("other.csv").found.map(({ logged }) => logged)).toEqual([true, false]);
  expect(read(undefined).found.map(({ logged }) => logged)).toEqual([true, false]);
});
