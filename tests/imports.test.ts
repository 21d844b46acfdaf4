// The arrows of imports, drawn from the import lines themselves. In analysis/ they run one way,
//   job → log → state → reading → live → loop → inference → finding → comparison → document,
// and nothing there knows of files, pages, clocks or chance; api/ and web/ reach it through its one door, and not each other.
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative, sep } from "node:path";
import { describe, expect, test } from "vitest";

const root = join(import.meta.dirname, "..");

/** Each may import only from those before it, and from itself. */
const order = ["job", "log", "state", "reading", "live", "loop", "inference", "finding", "comparison", "document"];

/** Files at the top of analysis/ that every folder may import, and what these may import in turn. */
const shared: Record<string, readonly string[]> = {
  "units.ts": [],
  "problem.ts": [],
  "uncertain.ts": [],
  "round-for-print.ts": ["uncertain.ts"],
  "diagnosis.ts": ["uncertain.ts", "job/", "state/"],
  "plain-words.ts": ["diagnosis.ts", "job/"],
};

/** Learning a meter's bytes stands beside the loop: it needs none of the folders above, and only what hears meters needs it. */
const apart = ["teach"];

/** General libraries that compute and do nothing else. */
const pureLibraries = ["valibot", "papaparse", "fflate", "simple-statistics", "pdf-lib", "qrcode-generator"];

interface Import {
  readonly file: string;
  readonly from: string;
}

const slashed = (path: string) => path.split(sep).join("/");

function sourcesIn(folder: string): string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: "utf8" })
    .map(slashed)
    .filter((name) => /\.(ts|tsx|mts|mjs)$/.test(name) && !name.endsWith(".d.ts"))
    .map((name) => `${folder}/${name}`);
}

/** Every import and export-from of a file: paths from the project's root, or a package's name. */
function importsOf(file: string): Import[] {
  const text = readFileSync(join(root, file), "utf8");
  const named = [
    ...text.matchAll(/^\s*(?:import|export)\b[^"';]*?from\s*["']([^"']+)["']/gm),
    ...text.matchAll(/^\s*import\s*["']([^"']+)["']/gm),
    ...text.matchAll(/\bimport\(\s*["']([^"']+)["']\s*\)/g),
  ];
  return named.map(([, from]) => ({
    file,
    from: from!.startsWith(".") ? slashed(relative(root, join(root, dirname(file), from!))) : from!,
  }));
}

/** Code without its comments and texts, so that a word in them is no use of it. */
function bareCode(text: string): string {
  return text.replace(/\/\*[\s\S]*?\*\/|\/\/[^\n]*|"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*'/g, " ");
}

const analysis = sourcesIn("analysis");
const isLocal = (from: string) => /^(analysis|api|web|tests)\//.test(from);

test("the arrow inside analysis", () => {
  const against = analysis.flatMap(importsOf).filter(({ file, from }) => {
    if (!isLocal(from)) return false;
    const [, folder, inside] = file.split("/");
    const [, target] = from.split("/");
    if (inside === undefined) return !mayImportFromTop(folder!, from);
    if (target === folder || (target! in shared && !from.includes("/", 9))) return false;
    if (apart.includes(folder!)) return true;
    if (apart.includes(target!)) return folder !== "live";
    return !(order.includes(target!) && order.indexOf(target!) < order.indexOf(folder!));
  });
  expect(against).toEqual([]);
});

/** Files at the top that put everything together. */
const conductors = [
  "index.ts",
  "diagnose.ts",
  "round-belief.ts",
  "diagnosis-schema.ts",
  "make-record.ts",
  "check-record.ts",
];

/** Files at the top: the shared ones as listed, and the conductors. */
function mayImportFromTop(file: string, from: string): boolean {
  if (conductors.includes(file)) return from.startsWith("analysis/");
  return (shared[file] ?? []).some((allowed) => from.startsWith(`analysis/${allowed}`));
}

test("every folder of analysis has its place in the order", () => {
  const folders = new Set(analysis.flatMap((file) => file.split("/").slice(1, -1)[0] ?? []));
  expect([...folders].filter((folder) => !order.includes(folder) && !apart.includes(folder))).toEqual([]);
});

describe("analysis is pure", () => {
  test("no Node module, no library that does more than compute", () => {
    const packages = analysis.flatMap(importsOf).filter(({ from }) => !isLocal(from));
    expect(packages.filter(({ from }) => !pureLibraries.includes(from))).toEqual([]);
  });

  test("no page, no process, no clock, no chance without a seed", () => {
    const impure =
      /\b(?:window|document|navigator|localStorage|sessionStorage|indexedDB)\s*\.|\b(?:fetch|setTimeout|setInterval|setImmediate|requestAnimationFrame|queueMicrotask|require|postMessage)\s*\(|\b(?:performance|process|console|globalThis|crypto)\s*\.|\bBuffer\b|\bDate\.now\b|\bnew Date\(\s*\)|\bDate\(\s*\)|\bMath\.random\b/g;
    const found = analysis.flatMap((file) =>
      [...bareCode(readFileSync(join(root, file), "utf8")).matchAll(impure)].map(([use]) => `${file}: ${use}`),
    );
    expect(found).toEqual([]);
  });
});

describe("api and web", () => {
  test.each(["api", "web"])("%s reaches the analysis through its one door, and the other not at all", (side) => {
    const other = side === "api" ? "web/" : "api/";
    const against = sourcesIn(side)
      .flatMap(importsOf)
      .filter(
        ({ from }) =>
          from.startsWith(other) ||
          from.startsWith("tests/") ||
          (from.startsWith("analysis/") && from !== "analysis/index.ts"),
      );
    expect(against).toEqual([]);
  });

  test("analysis knows of neither", () => {
    expect(analysis.flatMap(importsOf).filter(({ from }) => /^(api|web|tests)\//.test(from))).toEqual([]);
  });
});

test("what judges the program knows nothing of it: the recipe of sample jobs, the invented meters", () => {
  const judges = [...sourcesIn("tests/fixtures/recipe"), ...sourcesIn("tests/fixtures/protocols")];
  expect(judges.flatMap(importsOf).filter(({ from }) => /^(analysis|api|web)\//.test(from))).toEqual([]);
});

test("the reading of import lines itself", () => {
  const found = importsOf("tests/imports.test.ts").map(({ from }) => from);
  expect(found).toContain("node:fs");
  expect(found).toContain("vitest");
  expect(importsOf("analysis/index.ts").length).toBeGreaterThan(5);
  expect(bareCode('a /* Math.random */ + "Date.now" // Buffer\n+ b').match(/Math|Date|Buffer/)).toBeNull();
});
