// What a technician reads: the whole page for a diagnosis written by hand, line by line.
import { describe, expect, test } from "vitest";
import { diagnosisText } from "../../../api/text/diagnosis-text.ts";
import { columnsOf, pageInAscii } from "../../../api/text/page.ts";
import { before, beforeAndAfter, job } from "./written-diagnosis.ts";

const page = diagnosisText(job, beforeAndAfter);
const text = page.join("\n");
/** Without line breaks and indents, as it is read. */
const read = text.replace(/\s+/g, " ");

test("the potential profile, the cliff in its place", () => {
  const start = page.findIndex((line) => line.startsWith("Volts lost round the circuit"));
  expect(page.slice(start, start + 20).join("\n")).toBe(
    `\
Volts lost round the circuit, keyed, engine off, 11.40 A
                                lost  if sound
                                               0            limit 0.50 V  0.86 V
battery +          12.31 V                     │                  ┊
  battery-lug, ring lug      0.005 V  0.0034 V │                  ┊
  main-fuse, 20 A blade f…   0.057 V   0.052 V ▒▒·                ┊
fuse-out           12.25 V                       │                ┊
  feed, 10 AWG wire, 4.5 m   0.172 V    0.17 V   ▒▒▒▒▒▒▒          ┊
  plug-positive              0.014 V  0.0114 V          │         ┊
load +             12.06 V                              │         ┊
  VHF mobile, 50 W 11.35 V                              │         ┊
load −              0.60 V                              │         ┊
  plug-negative              0.013 V  0.0114 V          ▒         ┊
  ground-lead, 10 AWG wir…   0.023 V   0.023 V           ▒        ┊
▶ ground-stud                0.547 V  0.0046 V           ·████████████████████
body-at-load        0.01 V                               ·        ┊           │
  body, chassis                    ?  0.0068 V            ·       ┊           │
  battery-strap              0.006 V  0.0046 V            ·       ┊           │
battery −           0.00 V                                ·       ┊           │
▒ as a sound part loses, █ more than that, ? one of these, · if all were sound`,
  );
});

describe("what is said", () => {
  test.each([
    "FAULT: bad joint at ground-stud, 0.55 V lost there when keyed (93 % sure).",
    "Should read after the repair, at the set, keyed: 11.95 V ± 0.10 V",
    "5 % bad joint at plug-negative or battery-strap",
    "1 other cause is less likely still.",
    "1. Red probe on load −, black probe on body-at-load; engine off, keyed.",
    "! Before undoing it: negative lead off the battery first",
    "10.70 V ± 0.20 V at the set, 0.30 V ± 0.20 V under the 11 V it needs.",
    "open feed: dead short at the set The battery's short-circuit current is not known. (from memory)",
    "battery.csv (Voltage (V)): 1240 values; 2 rows left out; keyed once",
    "clock 3.42 s ± 0.06 s against the first log's",
    "1 taken, 1 still missing.",
    "FEED GOOD: LOOK ELSEWHERE (95 % sure).",
    "The repair held",
    "At the set, keyed: 0.63 V ± 0.04 V gained.",
    "ground-stud 48.0 mΩ ± 2.0 mΩ 0.5 mΩ ± 0.8 mΩ over 99 %",
  ])("%s", (words) => {
    expect(read).toContain(words);
  });

  test("nothing of the words that are for files and code", () => {
    expect(read).not.toMatch(
      /\bbits\b|prior|posterior|undecided|supply-sound|high-resistance|plateau|\bidle\b|NaN|undefined|null/,
    );
  });

  test("undecided is said as such, with what is likeliest and the readings to take", () => {
    const [round] = before.rounds;
    const findings = round!.findings.map((finding) => ({ ...finding, probability: finding.probability * 0.4 }));
    const undecided = { ...before, rounds: [{ ...round!, verdict: "undecided" as const, findings }] };
    expect(diagnosisText(job, undecided).join(" ")).toContain(
      "NOT ENOUGH READINGS YET: most likely bad joint at ground-stud, but only 37 % sure.",
    );
  });

  test("nothing known, nothing measured: still a page", () => {
    const [round] = before.rounds;
    const bare = {
      ...round!,
      ...{ states: [], findings: [], nextReadings: [], protection: [], recordings: [], warnings: [], parts: [] },
      source: { openCircuitVolts: null, ohms: null, runningVolts: null },
      worstCase: { loadVolts: null, marginVolts: null, conditions: "" },
    };
    const lines = diagnosisText(job, { ...before, title: "", rounds: [bare] });
    expect(lines.join("\n")).toContain("not measured keyed");
    expect(lines.join("\n")).not.toMatch(/NaN|undefined|null/);
    expect(diagnosisText(job, { ...before, rounds: [] }).join("\n")).toContain("Nothing has been measured yet");
  });
});

test("every line holds 80 columns, in UTF-8 and in ASCII", () => {
  for (const line of page) expect(columnsOf(line), line).toBeLessThanOrEqual(80);
  for (const line of pageInAscii(page)) {
    expect(line.length, line).toBeLessThanOrEqual(80);
    expect(line).toMatch(/^[ -~]*$/);
  }
});

test("volts that one of several parts loses stand at each of them, and the line steps behind the last", () => {
  const [round] = before.rounds;
  const suspects = ["plug-negative", "ground-stud"];
  const parts = round!.parts.map((part) => (suspects.includes(part.id) ? { ...part, dropVolts: null } : part));
  const findings = [{ ...round!.findings[0]!, parts: suspects }];
  const lines = diagnosisText(job, { ...before, rounds: [{ ...round!, parts, findings }] });
  const start = lines.findIndex((line) => line.startsWith("load −"));
  expect(lines.slice(start, start + 5).join("\n")).toBe(
    `\
load −              0.60 V                              │        ┊
▶ plug-negative                    ?  0.0114 V          ▒????????????????????
  ground-lead, 10 AWG wir…   0.023 V   0.023 V           │       ┊
▶ ground-stud                      ?  0.0046 V           ▒????????????????????
body-at-load        0.01 V                               ·       ┊            │`,
  );
});

test("a drop that reads below zero steps back, and a part without a figure is drawn as if sound", () => {
  const [round] = before.rounds;
  const parts = round!.parts.map((part) =>
    part.id === "feed" ? { ...part, dropVolts: { value: -0.2, low: -0.3, high: -0.1, uncertainty: 0.05 } } : part,
  );
  const lines = diagnosisText(job, { ...before, rounds: [{ ...round!, parts }] });
  expect(lines.find((line) => line.includes("feed, 10 AWG"))).toMatch(/−0\.20 V.*◂|−0\.20 V +0\.17 V +│/);
});
