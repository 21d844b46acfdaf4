// A job folder, or a zip of one, is read as it stands; nothing outside it ever is.
import { execFileSync } from "node:child_process";
import { chmodSync, cpSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { zipSync } from "fflate";
import { afterAll, describe, expect, test } from "vitest";
import { Problem } from "../../analysis/index.ts";
import { openJobFolder } from "../../api/job-folder.ts";
import { orchardSprayer } from "../analysis/job/orchard-sprayer.ts";

const root = mkdtempSync(join(tmpdir(), "job-folder-"));
afterAll(() => rmSync(root, { recursive: true, force: true }));

const logs = ["battery.csv", "load.csv", "clamp.csv"];
const logText = Buffer.from("seconds,value\n0,12.5\n1,12.4\n");

/** A folder of its own for each test, with the job and its three logs. */
function folder(name: string, change: (job: ReturnType<typeof orchardSprayer>) => void = () => {}): string {
  const path = join(root, name);
  mkdirSync(path);
  const job = orchardSprayer();
  change(job);
  writeFileSync(join(path, "job.json"), JSON.stringify(job));
  for (const log of logs) writeFileSync(join(path, log), logText);
  return path;
}

function refusal(path: string): string {
  try {
    const opened = openJobFolder(path);
    for (const { file } of opened.job.recordings) Buffer.concat([...opened.readLog(file)]);
  } catch (error) {
    if (error instanceof Problem) return error.message;
    throw error;
  }
  throw new Error("should have been refused");
}

const named = (name: string) => (job: ReturnType<typeof orchardSprayer>) => {
  job.recordings[1]!.file = name;
};

describe("what is read", () => {
  test("a folder, its job checked and its logs byte for byte", () => {
    const opened = openJobFolder(folder("plain"));
    expect(opened.job.title).toBe("Orchard sprayer, VHF set resets on transmit");
    expect(opened.logBytes("load.csv")).toBe(logText.length);
    expect(Buffer.concat([...opened.readLog("load.csv")]).equals(logText)).toBe(true);
  });

  test("a log in a folder inside, and a link that stays inside", () => {
    const path = folder("inside", named("logs/load.csv"));
    mkdirSync(join(path, "logs"));
    symlinkSync(join(path, "load.csv"), join(path, "logs", "load.csv"));
    expect(Buffer.concat([...openJobFolder(path).readLog("logs/load.csv")]).equals(logText)).toBe(true);
  });

  test("a folder reached through a link", () => {
    symlinkSync(folder("real"), join(root, "linked"));
    expect(openJobFolder(join(root, "linked")).logBytes("load.csv")).toBe(logText.length);
  });

  test.each(["zip of the files", "zip of the folder"])("a %s, as the system's own zip makes it", (kind) => {
    const path = folder(kind);
    const zip = join(root, `${kind}.zip`);
    try {
      if (kind === "zip of the files") execFileSync("zip", ["-qr", zip, "."], { cwd: path });
      else execFileSync("zip", ["-qr", zip, kind], { cwd: root });
    } catch {
      writeFileSync(
        zip,
        zipSync({
          "job.json": Buffer.from(JSON.stringify(orchardSprayer())),
          "load.csv": logText,
          "battery.csv": logText,
          "clamp.csv": logText,
        }),
      );
      console.log("no zip command here: the zip was made by fflate");
    }
    const opened = openJobFolder(zip);
    expect(Buffer.concat([...opened.readLog("./load.csv")]).equals(logText)).toBe(true);
  });
});

describe("what is refused", () => {
  test("nothing there", () => {
    const path = join(root, "nowhere");
    expect(refusal(path)).toBe(`${path}: should be a job folder or a zip of one; there is nothing of this name`);
    expect(refusal(`${path}\0`)).toContain("there is nothing of this name");
  });

  test("a folder without job.json, a job.json that is a folder", () => {
    const path = join(root, "empty");
    mkdirSync(path);
    expect(refusal(path)).toBe(`${path}: should hold a job.json; there is none in it`);
    mkdirSync(join(path, "job.json"));
    expect(refusal(path)).toBe("job.json: should be a plain file; this is a folder");
  });

  test("a file that is no zip", () => {
    const path = join(folder("no-zip"), "job.json");
    expect(refusal(path)).toBe(`${path}: should be a job folder or a zip of one; this file is no zip`);
  });

  test("a log that is not there", () => {
    expect(refusal(folder("no-log", named("laod.csv")))).toBe(
      "laod.csv, recordings[1].file: should be a log inside the job folder; there is no such file in it",
    );
  });

  test.each(["../plain/load.csv", "/etc/hostname", "logs/../../plain/load.csv", ".."])(
    "a path that climbs out: %s",
    (name) => {
      const path = folder(`climbs-${name.replaceAll(/\W/g, "")}`, named(name));
      expect(refusal(path)).toBe(
        `${name}, recordings[1].file: should lie inside the job folder; this path leads out of it`,
      );
    },
  );

  test("a link that leads out, one that leads nowhere, one in a circle", () => {
    const path = folder("links", named("out.csv"));
    symlinkSync("/etc/hostname", join(path, "out.csv"));
    expect(refusal(path)).toBe(
      "out.csv, recordings[1].file: should lie inside the job folder; this is a link that leads out of it",
    );
    rmSync(join(path, "out.csv"));
    symlinkSync("nowhere", join(path, "out.csv"));
    expect(refusal(path)).toContain("there is no such file in it");
    rmSync(join(path, "out.csv"));
    symlinkSync("out.csv", join(path, "out.csv"));
    expect(refusal(path)).toContain("should be readable; the system says ELOOP");
  });

  test("job.json as a link that leads out", () => {
    const path = folder("link-job");
    rmSync(join(path, "job.json"));
    symlinkSync("/etc/hostname", join(path, "job.json"));
    expect(refusal(path)).toBe("job.json: should lie inside the job folder; this is a link that leads out of it");
  });

  test("a pipe does not hang, a device is not read", () => {
    const path = folder("pipe", named("pipe.csv"));
    execFileSync("mkfifo", [join(path, "pipe.csv")]);
    expect(refusal(path)).toBe("pipe.csv, recordings[1].file: should be a plain file; this is a device or a pipe");
    expect(refusal(join(path, "pipe.csv"))).toContain(
      "should be a job folder or a zip of one; this is a device or a pipe",
    );
    expect(refusal("/dev/zero")).toContain("this is a device or a pipe");
  });

  test("a log that may not be read", () => {
    const path = folder("locked");
    chmodSync(join(path, "load.csv"), 0);
    if (process.getuid?.() === 0)
      console.log("running as root, who may read everything: this refusal cannot be shown here");
    else expect(refusal(path)).toBe("load.csv: should be readable; the system says EACCES");
  });

  test("a job.json that is no text, and one without end", () => {
    const path = folder("bytes");
    writeFileSync(join(path, "job.json"), Buffer.from([0x7b, 0xff, 0xfe, 0x7d]));
    expect(refusal(path)).toBe("job.json: should be text in UTF-8; it holds bytes that are not");
    writeFileSync(join(path, "job.json"), Buffer.alloc(33 * 2 ** 20, " "));
    expect(refusal(path)).toMatch(/^job\.json: should be at most 33554432 bytes long/);
  });

  test("a zip without the log, without a job, cut short", () => {
    const path = folder("for-zip");
    const job = Buffer.from(JSON.stringify(orchardSprayer()));
    const zip = join(path, "job.zip");
    writeFileSync(zip, zipSync({ "job.json": job }));
    expect(refusal(zip)).toBe(
      "battery.csv, recordings[0].file: should be a log inside the zipped job folder; there is no such file in it",
    );
    writeFileSync(zip, zipSync({ "battery.csv": logText }));
    expect(refusal(zip)).toBe(`${zip}: should hold a job.json; there is none in it`);
    const whole = zipSync({ "job.json": job, "battery.csv": logText, "load.csv": logText, "clamp.csv": logText });
    writeFileSync(zip, whole.subarray(0, whole.length - 30));
    expect(refusal(zip)).toBe(`${zip}: should be a whole zip; this one is cut short or damaged`);
    cpSync(zip, join(path, "copy.zip"));
    expect(refusal(join(path, "copy.zip"))).toContain("cut short");
  });
});
