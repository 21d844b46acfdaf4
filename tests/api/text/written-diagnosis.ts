/** A diagnosis written by hand for the orchard sprayer: a bad ground stud before, mended after (figures invented). */
import type { Diagnosis, PartEntry, RoundDiagnosis } from "../../../analysis/index.ts";
import { checkJob } from "../../../analysis/job/job.ts";
import { quantity } from "../../../analysis/uncertain.ts";
import { changedJob } from "../../analysis/job/orchard-sprayer.ts";

export const { job } = checkJob(
  changedJob((job) => {
    job.rounds = [{ round: "after", done: ["ground stud remade"] }];
  }),
);

const amps = 11.4;

const part = (
  id: string,
  leg: "supply" | "return",
  milliohms: number,
  expected: number,
  probability = 0.01,
): PartEntry => ({
  id,
  leg,
  expectedOhms: quantity(expected / 1000, expected / 4000),
  ohms: quantity(milliohms / 1000, 0.0004),
  dropVolts: quantity((milliohms / 1000) * amps, 0.004),
  faultProbability: probability,
});

function round(name: string, studMilliohms: number): RoundDiagnosis {
  const mended = studMilliohms < 5;
  return {
    round: name,
    verdict: mended ? "sound" : "fault",
    recordings: [
      {
        ...{
          file: "battery.csv",
          column: "Voltage (V)",
          samples: 1240,
          blindBelowSeconds: 1,
          rejectedRows: 2,
          warnings: [],
        },
        ...{ offsetSeconds: 0, offsetUncertaintySeconds: 0, driftPpm: 0 },
        plateaus: [
          { startSeconds: 0, endSeconds: 41.2, engine: "off", radio: "idle", value: 12.41, uncertainty: 0.004 },
        ],
        events: [
          { kind: "keyed", seconds: 41.2 },
          { kind: "released", seconds: 60 },
        ],
      },
      {
        ...{
          file: "load.csv",
          column: 2,
          samples: 4000,
          blindBelowSeconds: 0.25,
          rejectedRows: 0,
          warnings: ["the header names no unit: volts are assumed"],
        },
        ...{ offsetSeconds: 3.42, offsetUncertaintySeconds: 0.03, driftPpm: 12, plateaus: [], events: [] },
      },
    ],
    states: [
      {
        ...{ engine: "off", radio: "transmit", amps: quantity(amps, 0.12), batteryVolts: quantity(12.31, 0.02) },
        ...{
          loadVolts: quantity(mended ? 11.98 : 11.35, 0.03),
          supplyDropVolts: quantity(0.26, 0.01),
          returnDropVolts: quantity(mended ? 0.07 : 0.7, 0.02),
        },
      },
    ],
    source: { openCircuitVolts: quantity(12.45, 0.03), ohms: quantity(0.011, 0.001), runningVolts: null },
    parts: [
      part("battery-lug", "supply", 0.4, 0.3),
      part("main-fuse", "supply", 5, 4.6),
      part("feed", "supply", 15.1, 15),
      part("plug-positive", "supply", 1.2, 1),
      part("plug-negative", "return", 1.1, 1, 0.03),
      part("ground-lead", "return", 2.0, 2),
      part("ground-stud", "return", studMilliohms, 0.4, mended ? 0.01 : 0.93),
      { ...part("body", "return", 0.6, 0.6), dropVolts: null, ohms: null },
      part("battery-strap", "return", 0.5, 0.4),
    ],
    findings: mended
      ? [
          {
            cause: "supply-sound",
            parts: [],
            probability: 0.95,
            dropVolts: null,
            summary: "Every part is as good as a sound one of its kind.",
            evidence: [],
            repair: "",
            afterRepair: { loadVolts: null },
          },
        ]
      : [
          {
            ...{ cause: "high-resistance-connection", parts: ["ground-stud"], probability: 0.93, dropVolts: 0.5513 },
            summary: "The ground stud drops far more than a sound one would.",
            evidence: [
              "load- to battery-, keyed, engine off: 0.62 V; without this fault about 0.07 V (typed reading 1)",
            ],
            repair: "Undo the stud, clean paint and rust down to bright metal, refit with a lock washer, seal it.",
            afterRepair: { loadVolts: quantity(11.95, 0.05) },
          },
          {
            ...{
              cause: "high-resistance-connection",
              parts: ["plug-negative", "battery-strap"],
              probability: 0.05,
              dropVolts: 0.4,
            },
            ...{ summary: "", evidence: [], repair: "Clean and refit.", afterRepair: { loadVolts: null } },
          },
          {
            cause: "weak-battery",
            parts: [],
            probability: 0.001,
            dropVolts: null,
            summary: "",
            evidence: [],
            repair: "",
            afterRepair: { loadVolts: null },
          },
        ],
    nextReadings: mended
      ? []
      : [
          {
            from: "load-",
            to: "body-at-load",
            engine: "off",
            radio: "transmit",
            bits: 0.3,
            why: "Above 0.3 V: the ground stud. Below 0.1 V: look between body and battery.",
          },
        ],
    worstCase: {
      loadVolts: quantity(mended ? 11.4 : 10.7, 0.1),
      marginVolts: quantity(mended ? 0.4 : -0.3, 0.1),
      conditions: "Engine off, battery at half charge, wire hot, full transmit current.",
    },
    protection: [
      {
        part: "main-fuse",
        check: "fuse against load current",
        pass: true,
        detail: "11.5 A is 58 % of 20 A.",
        source: "common practice",
      },
      {
        part: "feed",
        check: "dead short at the set",
        pass: null,
        detail: "The battery's short-circuit current is not known.",
        source: "from memory",
      },
    ],
    verification: {
      readingsTaken: [{ from: "load-", to: "battery-", engine: "off", radio: "transmit" }],
      readingsMissing: [{ from: "battery+", to: "battery-", engine: "running", radio: "idle" }],
      passed: null,
    },
    warnings: ["meter m2 states no accuracy: that of an ordinary handheld meter is assumed"],
  };
}

export const before: Diagnosis = {
  format: "diagnosis/1",
  folder: "sample-logs/orchard-sprayer",
  title: "Orchard sprayer, VHF set resets on transmit",
  rounds: [round("before", 48)],
  comparison: null,
};

export const beforeAndAfter: Diagnosis = {
  ...before,
  rounds: [round("before", 48), round("after", 0.5)],
  comparison: {
    from: "before",
    to: "after",
    loadVoltsGained: quantity(0.63, 0.02),
    parts: [
      {
        id: "ground-stud",
        ohmsBefore: quantity(0.048, 0.001),
        ohmsAfter: quantity(0.0005, 0.0004),
        changeIsReal: 0.9999,
      },
      { id: "feed", ohmsBefore: quantity(0.0151, 0.0004), ohmsAfter: quantity(0.0151, 0.0004), changeIsReal: 0.1 },
    ],
    repairHeld: true,
  },
};
