// A start keeps its bundle, and never runs one that is older than its sources; in a project of two files of its own.
import { spawn, spawnSync } from "node:child_process";
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";

const root = join(import.meta.dirname, "../..");
const temporary = mkdtempSync(join(tmpdir(), "run-"));
afterAll(() => rmSync(temporary, { recursive: true, force: true }));

const longAgo = new Date(2020, 0, 1);

/** A project that prints a word and what it was called with. */
function project(name: string): string {
  const folder = join(temporary, name);
  mkdirSync(join(folder, "api"), { recursive: true });
  mkdirSync(join(folder, "node_modules"));
  for (const library of ["esbuild", "@esbuild"])
    symlinkSync(join(root, "node_modules", library), join(folder, "node_modules", library));
  copyFileSync(join(root, "api/run.mjs"), join(folder, "api/run.mjs"));
  writeFileSync(join(folder, "api/word.ts"), 'export const word: string = "amber";\n');
  const main = [
    'import { parseArgs } from "node:util";',
    'import { word } from "./word.ts";',
    "const { positionals } = parseArgs({ allowPositionals: true });",
    "console.log(word, ...positionals);",
  ];
  writeFileSync(join(folder, "api/say.ts"), main.join("\n"));
  return folder;
}

const command = (folder: string, ...words: string[]) => [join(folder, "api/run.mjs"), "api/say.ts", ...words];

function said(folder: string, ...words: string[]): string {
  const { stdout, stderr } = spawnSync(process.execPath, command(folder, ...words), { encoding: "utf8" });
  return stdout + stderr;
}

/** Sources that a start of this moment may keep: not written while it looks. */
const settle = () => new Promise((resolve) => setTimeout(resolve, 100));

const kept = (folder: string) => {
  const cache = join(folder, "node_modules/.cache/start");
  return existsSync(cache) ? readdirSync(cache).toSorted() : [];
};

test("the first start keeps the bundle and what was compiled; the next says the same", async () => {
  const folder = project("fresh");
  await settle();
  expect(said(folder, "one")).toBe("amber one\n");
  const files = kept(folder);
  expect(files.filter((file) => file.endsWith(".js"))).toHaveLength(1);
  expect(files).toHaveLength(3);
  expect(said(folder, "two")).toBe("amber two\n");
  expect(kept(folder)).toEqual(files);
});

test("a source that changed is seen, though its length and its time are as before; the old bundle goes", async () => {
  const folder = project("changed");
  await settle();
  utimesSync(join(folder, "api/word.ts"), longAgo, longAgo);
  await settle();
  expect(said(folder)).toBe("amber\n");
  const before = kept(folder);
  writeFileSync(join(folder, "api/word.ts"), 'export const word: string = "birch";\n');
  utimesSync(join(folder, "api/word.ts"), longAgo, longAgo);
  await settle();
  expect(said(folder)).toBe("birch\n");
  expect(kept(folder).filter((file) => before.includes(file))).toEqual(["say.inputs.json"]);
});

test("a source written this instant is run, and kept by a later start", async () => {
  const folder = project("instant");
  const word = join(folder, "api/word.ts");
  const soon = new Date(Date.now() + 60_000);
  utimesSync(word, soon, soon);
  expect(said(folder)).toBe("amber\n");
  expect(kept(folder)).toEqual([]);
  utimesSync(word, longAgo, longAgo);
  await settle();
  expect(said(folder)).toBe("amber\n");
  expect(kept(folder)).toHaveLength(3);
});

test("where nothing can be kept it runs all the same", async () => {
  const folder = project("read-only");
  writeFileSync(join(folder, "node_modules/.cache"), "no folder");
  await settle();
  expect(said(folder, "one")).toBe("amber one\n");
  expect(said(folder, "two")).toBe("amber two\n");
});

test("damaged remains of earlier starts do no harm", async () => {
  const folder = project("damaged");
  await settle();
  said(folder);
  const cache = join(folder, "node_modules/.cache/start");
  const compiled = kept(folder).find((file) => /\.js\./.test(file))!;
  writeFileSync(join(cache, compiled), "no such thing");
  expect(said(folder)).toBe("amber\n");
  writeFileSync(join(cache, "say.inputs.json"), "{");
  expect(said(folder)).toBe("amber\n");
  rmSync(join(folder, "api/word.ts"));
  expect(said(folder)).toContain("word.ts");
});

test("several starts at once all say the same", async () => {
  const folder = project("at-once");
  await settle();
  const starts = Array.from({ length: 4 }, (_, i) => {
    const child = spawn(process.execPath, command(folder, `${i}`));
    let text = "";
    child.stdout.on("data", (piece) => {
      text += piece;
    });
    return new Promise<string>((resolve) => child.on("close", () => resolve(text)));
  });
  expect(await Promise.all(starts)).toEqual(["amber 0\n", "amber 1\n", "amber 2\n", "amber 3\n"]);
});
