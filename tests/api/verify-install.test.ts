// `--verify` as a person meets it: the real process on what may be given to it (issue: before and after, and a finished install verified).
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { zipSync } from "fflate";
import { afterAll, describe, expect, test } from "vitest";
import { badStud, jobOf, type TrueRound } from "../analysis/comparison/metered-round.ts";

const root = join(import.meta.dirname, "../..");
const temporary = mkdtempSync(join(tmpdir(), "verify-install-"));
afterAll(() => rmSync(temporary, { recursive: true, force: true }));

function run(words: readonly string[], environment: Record<string, string> = { LC_ALL: "C.UTF-8" }) {
  const { status, stdout, stderr } = spawnSync(process.execPath, ["api/run.mjs", "api/command-line.ts", ...words], {
    cwd: root,
    encoding: "utf8",
    env: { ...process.env, ...environment },
  });
  expect(stdout + stderr).not.toMatch(/\n\s+at .*:\d+:\d+/);
  return { status, stdout, stderr, text: stdout.replace(/\s+/g, " ") };
}

let written = 0;
/** A job folder of typed readings alone. */
function typedFolder(rounds: readonly TrueRound[], fields: Parameters<typeof jobOf>[1] = {}): string {
  const path = join(temporary, `job-${written++}`);
  mkdirSync(path);
  writeFileSync(join(path, "job.json"), JSON.stringify(jobOf(rounds, fields)));
  return path;
}

const sample = "sample-logs/feed-mixer-before-after";

describe("a job with logs", () => {
  const { status, stdout, text } = run([sample, "--verify"]);

  test("is told whether it may be handed over, what is missing, and what was proven", () => {
    expect(status).toBe(0);
    expect(text).toContain("Round 'after': cannot be handed over yet");
    expect(text).toContain("MISSING battery + to battery −, engine running, keyed");
    expect(text).toContain("taken battery + to load +, engine off, keyed");
    expect(text).toContain("one long transmission (60 s) is missing");
    expect(text).toContain("a start of the engine with the set on is missing");
    expect(text).toContain("Checklist, answered by the technician (15 of 15 not answered)");
    expect(text).toMatch(/'before' against 'after' The repair held/);
    expect(text).toMatch(/The job names no code: .*Local codes, .*come before anything said here/);
  });

  test("has every check with its figure and its source, and stays within 80 columns", () => {
    const marks = stdout.split("\n").filter((line) => /^ {2}(FAILS|open|ok) {2,}\S/.test(line));
    expect(marks.length).toBeGreaterThan(8);
    expect(stdout.match(/^ {9}\(/gm)!.length).toBe(marks.length);
    for (const line of stdout.split("\n")) expect([...line].length, line).toBeLessThanOrEqual(80);
  });

  test("says of parts that say the same only once", () => {
    expect(text).toContain("feed, switched-feed, ground-lead: fuse against the wire's ampacity");
    expect(text.match(/fuse against the wire's ampacity/g)).toHaveLength(1);
  });

  test("is the same from a zip", () => {
    const files = Object.fromEntries(
      readdirSync(join(root, sample)).map((name) => [name, new Uint8Array(readFileSync(join(root, sample, name)))]),
    );
    const zip = join(temporary, "mixer.zip");
    writeFileSync(zip, zipSync({ mixer: files }));
    const zipped = run(["--verify", zip]);
    expect(zipped.status).toBe(0);
    expect(zipped.text.replace(zip, sample)).toBe(text);
  });

  test("is readable where the terminal knows no UTF-8", () => {
    const plain = run([sample, "--verify"], { LC_ALL: "C" }).stdout;
    // biome-ignore lint/suspicious/noControlCharactersInRegex: nothing but ASCII is meant
    expect(plain).toMatch(/^[\x00-\x7f]*$/);
    expect(plain.replace(/\s+/g, " ")).toContain("MISSING battery + to battery -, engine running, keyed");
  });
});

test("with --json it is the diagnosis as ever, its verification in it", () => {
  const folder = typedFolder([{ round: "before", ohms: badStud }, { round: "after" }]);
  const [plain, verified] = [["--json"], ["--json", "--verify"]].map((words) => run([folder, ...words]).stdout);
  expect(verified).toBe(plain);
  const { rounds } = JSON.parse(plain!);
  expect(rounds[1].verification).toMatchObject({ passed: null });
  expect(rounds[1].verification.readingsMissing).toHaveLength(4);
});

test("typed readings alone will do, more than two rounds are each held against the first and the one before", () => {
  const { text, status } = run([
    "--verify",
    typedFolder([
      { round: "before", ohms: badStud },
      { round: "halfway", ohms: { "ground-stud": 0.03 } },
      { round: "after" },
    ]),
  ]);
  expect(status).toBe(0);
  const pairs = [...text.matchAll(/Before and after: '(\w+)' against '(\w+)' The repair (held|did not hold)/g)];
  expect(pairs.map(([, from, to, held]) => [from, to, held])).toEqual([
    ["before", "halfway", "did not hold"],
    ["before", "after", "held"],
    ["halfway", "after", "held"],
  ]);
});

test("a part that is singled out is worth its volts at one current before and after", () => {
  const { text } = run([
    "--verify",
    typedFolder([
      { round: "before", ohms: badStud },
      { round: "after", ohms: { "plug-positive": 0.05 }, transmitAmps: 10 },
    ]),
  ]);
  // 0.05 − 0.001 Ω at 10 A
  expect(text).toMatch(/At 10\.?\d* A before and after: plug-positive drops 0\.4[89] V more\./);
});

test("a trouble that is newer than a round is told with the comparison", () => {
  const { text } = run([
    "--verify",
    typedFolder([
      { round: "before", ohms: badStud },
      { round: "after", ohms: { "plug-positive": 0.05 } },
    ]),
  ]);
  expect(text).toContain("NOT to be handed over");
  expect(text).toContain("! newer than 'before': bad joint at plug-positive");
});

test("an install with everything read, tested and answered may be handed over", () => {
  const engineRunning = jobOf([{ round: "after", restVolts: 14.2 }])
    .readings.filter(({ from }) => from === "battery+" || from === "load+")
    .filter(({ to }) => to === "battery-" || to === "load-")
    .map((reading) => ({ ...reading, engine: "running" as const }));
  const checks = Object.fromEntries(
    [
      ...["fuse-out", "polarity", "no-short", "drain", "grommets", "strain-relief", "lock-washers", "fuse-at-source"],
      ...["sealed-joints", "clear-of-heat", "clear-of-edges", "clear-of-restraints", "clear-of-controls"],
      ...["long-transmission", "start-with-set-on"],
    ].map((id) => [id, true]),
  );
  const readings = [
    ...jobOf([
      {
        round: "after",
        stretches: [
          ["battery+", "load+"],
          ["load-", "battery-"],
          ["load-", "body-at-load"],
        ],
      },
    ]).readings,
    ...engineRunning,
  ];
  const job = { readings, rounds: [{ round: "after", checks }], rules: "33 CFR 183" };
  const { text } = run(["--verify", typedFolder([], job)]);
  expect(text).toContain("Round 'after': may be handed over");
  expect(text).not.toContain("MISSING");
  expect(text).not.toContain("not answered");
  expect(text).toContain("yes a grommet in every feed-through");
  expect(text).toContain("The code that the job names: 33 CFR 183.");
  const refused = { ...job, rounds: [{ round: "after", checks: { ...checks, "sealed-joints": false } }] };
  const no = run(["--verify", typedFolder([], refused)]).text;
  expect(no).toContain("NOT to be handed over. - sealed-joints: joints sealed against water");
  expect(no).toContain("NO joints sealed against water");
});

test("a job in which nothing was measured, and one that is only a start", () => {
  const nothing = run(["--verify", typedFolder([])]);
  expect(nothing.status).toBe(0);
  expect(nothing.text).toContain("Nothing has been measured yet: there is nothing to verify.");
  const readings = [{ round: "before", from: "load+", to: "load-", volts: 12.5 }];
  const stateless = run(["--verify", typedFolder([], { readings })]);
  expect(stateless.status).toBe(0);
  expect(stateless.text).toContain("10 readings are missing");
});

test("several folders one after the other; one that is not there is said, and the others are still verified", () => {
  const [one, other] = [typedFolder([{ round: "before" }]), typedFolder([{ round: "before", ohms: badStud }])];
  const { status, stdout, stderr } = run(["--verify", one, join(temporary, "nowhere"), other]);
  expect(status).toBe(1);
  expect(stdout.match(/^═+$/gm)).toHaveLength(2);
  expect(stderr).toContain("there is nothing of this name");
  expect(stdout.indexOf(one)).toBeLessThan(stdout.indexOf(other));
});
