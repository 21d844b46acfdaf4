// The command line as a person meets it: the real process, its text, its JSON lines, its exit status.
// Source: formats.md section 2 (fields, exit statuses, the shape of an error).
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { zipSync } from "fflate";
import { afterAll, describe, expect, test } from "vitest";
import { orchardSprayer } from "../analysis/job/orchard-sprayer.ts";

const root = join(import.meta.dirname, "../..");
const temporary = mkdtempSync(join(tmpdir(), "command-line-"));
afterAll(() => rmSync(temporary, { recursive: true, force: true }));

const command = ["api/run.mjs", "api/command-line.ts"];
const environment = { ...process.env, LC_ALL: "C.UTF-8" };

function diagnose(...words: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [...command, ...words], {
    cwd: root,
    encoding: "utf8",
    env: environment,
  });
  expect(stdout + stderr).not.toMatch(/\n\s+at .*:\d+:\d+/);
  return { status, stdout, stderr };
}

const sample = "sample-logs/orchard-sprayer-ground-stud";

/** A typed job of its own: small, and sound. */
function typedJob(name: string, change: (job: ReturnType<typeof orchardSprayer>) => void = () => {}): string {
  const path = join(temporary, name);
  mkdirSync(path);
  const job = { ...orchardSprayer(), recordings: [] as Record<string, unknown>[] };
  change(job);
  writeFileSync(join(path, "job.json"), JSON.stringify(job));
  return path;
}

/** Every key that formats.md fixes, in the places where it fixes it. */
const fixedKeys = {
  diagnosis: ["format", "folder", "title", "rounds", "comparison"],
  round: [
    "round",
    "verdict",
    "recordings",
    "states",
    "source",
    "parts",
    "findings",
    "nextReadings",
    "worstCase",
    "protection",
    "verification",
    "warnings",
  ],
  recording: [
    "file",
    "column",
    "samples",
    "blindBelowSeconds",
    "rejectedRows",
    "warnings",
    "offsetSeconds",
    "offsetUncertaintySeconds",
    "driftPpm",
    "plateaus",
    "events",
  ],
  state: ["engine", "radio", "amps", "batteryVolts", "loadVolts", "supplyDropVolts", "returnDropVolts"],
  part: ["id", "leg", "expectedOhms", "ohms", "dropVolts", "faultProbability"],
  finding: ["cause", "parts", "probability", "dropVolts", "summary", "evidence", "repair", "afterRepair"],
};

describe("what is asked for", () => {
  test("text: result, profile, finding, repair", () => {
    const { status, stdout } = diagnose(sample);
    expect(status).toBe(0);
    expect(stdout).toMatch(/FAULT: bad joint at ground-stud/);
    expect(stdout).toMatch(/▶ ground-stud .*█{10}/);
    expect(stdout).toMatch(/Do: /);
  });

  test("JSON: one line a folder, in the order given, every field of formats.md there", () => {
    const { status, stdout } = diagnose(sample, "--json", join(temporary, "nowhere"), typedJob("typed"));
    expect(status).toBe(1);
    const lines = stdout
      .trimEnd()
      .split("\n")
      .map((line) => JSON.parse(line));
    expect(lines.map(({ folder }) => folder)).toEqual([sample, join(temporary, "nowhere"), join(temporary, "typed")]);
    expect(lines[1]).toEqual({
      folder: join(temporary, "nowhere"),
      error: { message: expect.stringContaining("there is nothing of this name"), file: join(temporary, "nowhere") },
    });
    const [round] = lines[0].rounds;
    expect(Object.keys(lines[0])).toEqual(fixedKeys.diagnosis);
    expect(Object.keys(round)).toEqual(fixedKeys.round);
    for (const entry of round.recordings) expect(Object.keys(entry)).toEqual(fixedKeys.recording);
    for (const entry of round.states) expect(Object.keys(entry)).toEqual(fixedKeys.state);
    for (const entry of round.parts) expect(Object.keys(entry)).toEqual(fixedKeys.part);
    for (const entry of round.findings) expect(Object.keys(entry)).toEqual(fixedKeys.finding);
    const first = { cause: "high-resistance-connection", parts: ["ground-stud"] };
    expect(round.findings[0]).toMatchObject(first);
  });

  test("a zip gives what its folder gives", () => {
    const files = Object.fromEntries(
      readdirSync(join(root, sample)).map((name) => [name, new Uint8Array(readFileSync(join(root, sample, name)))]),
    );
    const zip = join(temporary, "orchard.zip");
    writeFileSync(zip, zipSync({ orchard: files }));
    const [fromFolder, fromZip] = [sample, zip].map((path) => JSON.parse(diagnose("--json", path).stdout));
    expect({ ...fromZip, folder: sample }).toEqual(fromFolder);
  });

  test("help names every option and every exit status", () => {
    const { status, stdout, stderr } = diagnose("--help");
    expect([status, stderr]).toEqual([0, ""]);
    for (const word of ["FOLDER_OR_ZIP", "--json", "--help", "  0  ", "  1  ", "  2  ", "130"])
      expect(stdout).toContain(word);
    for (const line of stdout.split("\n")) expect(line.length).toBeLessThanOrEqual(80);
  });
});

describe("what cannot be done", () => {
  test.each([[[]], [["--jsno"]], [["--json"]], [["--json=yes", sample]]])(
    "bad usage %j: status 2, and how it is used",
    (words) => {
      const { status, stdout, stderr } = diagnose(...words);
      expect([status, stdout]).toEqual([2, ""]);
      expect(stderr).toContain("Usage: npm run --silent diagnose -- FOLDER_OR_ZIP");
    },
  );

  test.each<[string, (job: ReturnType<typeof orchardSprayer>) => void, object]>([
    [
      "an unknown style",
      (job) => Object.assign(job.loop[1]!, { style: "ring" }),
      { file: "job.json", field: "loop[1].style" },
    ],
    [
      "a log that is not there",
      (job) =>
        job.recordings.push({ file: "gone.csv", round: "before", quantity: "volts", from: "load+", to: "load-" }),
      { file: "gone.csv", field: "recordings[0].file" },
    ],
    ["an unknown version", (job) => Object.assign(job, { format: "job/7" }), { file: "job.json", field: "format" }],
  ])("%s: one sentence with its place, and the next folder is diagnosed", (name, change, place) => {
    const { status, stdout } = diagnose("--json", typedJob(name, change), typedJob(`${name}, next`));
    expect(status).toBe(1);
    const [refused, next] = stdout
      .trimEnd()
      .split("\n")
      .map((line) => JSON.parse(line));
    expect(refused.error).toEqual({ message: expect.any(String), ...place });
    expect(refused.error.message.split("\n")).toHaveLength(1);
    expect(next.format).toBe("diagnosis/1");
  });

  test("a log with no numbers, and one that is no text", () => {
    const path = typedJob("no numbers", (job) => {
      job.recordings.push({ file: "words.csv", round: "before", quantity: "volts", from: "load+", to: "load-" });
    });
    for (const bytes of [
      Buffer.from("what,is,this\nno,numbers,here\n"),
      Buffer.from([0, 1, 2, 3, 0, 255, 254, 0, 0, 7]),
    ]) {
      writeFileSync(join(path, "words.csv"), bytes);
      const { status, stdout, stderr } = diagnose(path);
      expect([status, stdout]).toEqual([1, ""]);
      expect(stderr.trimEnd().split("\n")).toHaveLength(1);
      expect(stderr).toContain("words.csv");
    }
  });
});

describe("how it ends", () => {
  test("a reader that has seen enough is no error", () => {
    const { status, stdout, stderr } = spawnSync(
      "bash",
      ["-c", `set -o pipefail; "${process.execPath}" ${command.join(" ")} ${sample} ${sample} | head -n 1`],
      { cwd: root, encoding: "utf8", env: environment },
    );
    expect([status, stderr]).toEqual([0, ""]);
    expect(stdout).toContain("Orchard sprayer");
  });

  test("Ctrl-C ends it with 130 and no word", async () => {
    const path = typedJob("large", (job) => {
      job.recordings.push({ file: "large.csv", round: "before", quantity: "volts", from: "load+", to: "load-" });
    });
    const rows = Array.from({ length: 200_000 }, (_, i) => `${i / 10},${12 + (i % 7) / 1000}\n`).join("");
    writeFileSync(join(path, "large.csv"), `seconds,volts\n${rows.repeat(15)}`);
    const child = spawn(process.execPath, [...command, path], { cwd: root, stdio: ["ignore", "pipe", "pipe"] });
    const said = collected(child);
    const ended = new Promise<[number | null, string | null]>((resolve) => child.on("exit", (...end) => resolve(end)));
    await new Promise((resolve) => setTimeout(resolve, 700));
    child.kill("SIGINT");
    const [code, signal] = await ended;
    expect(code === 130 || signal === "SIGINT").toBe(true);
    expect(said()).toBe("");
  });
});

function collected(child: ChildProcess): () => string {
  let text = "";
  for (const stream of [child.stdout!, child.stderr!]) {
    stream.on("data", (piece) => {
      text += piece;
    });
  }
  return () => text;
}
