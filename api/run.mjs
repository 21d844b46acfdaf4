// Runs a TypeScript entry point: `node api/run.mjs api/command-line.ts ARGUMENT …` (one that awaits nothing at its top).
// Bundling takes longer than all the rest of a start, so the bundle is kept in node_modules/.cache under a hash of every
// file that went into it, read anew at each start: it can never be older than the sources. Beside it stands what V8 made
// of it. Where nothing can be written the bundle is made at each start and run from memory. A thread starts in the same way.
import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import { Script } from "node:vm";

const root = fileURLToPath(new URL("..", import.meta.url));
const cache = join(root, "node_modules", ".cache", "start");
const [, self, entry, ...rest] = process.argv;
const name = basename(entry, ".ts");
const inputList = join(cache, `${name}.inputs.json`);

/** What decides how the inputs are found and bundled, besides themselves. */
const deciding = ["api/run.mjs", "tsconfig.json", "node_modules/.package-lock.json"];

const keptAs = (key) => join(cache, `${name}-${key}.js`);

/** @throws where an input is gone */
function keyOf(inputs) {
  const hash = createHash("sha256").update(entry);
  for (const input of inputs) {
    const content = readFileSync(join(root, input));
    hash.update(`\n${input} ${content.length}\n`).update(content);
  }
  return hash.digest("hex").slice(0, 32);
}

/** @returns null where there is none, or its sources have changed */
function keptBundle() {
  try {
    const path = keptAs(keyOf(JSON.parse(readFileSync(inputList, "utf8"))));
    return { path, code: readFileSync(path, "utf8") };
  } catch {
    return null;
  }
}

async function newBundle() {
  const begun = Date.now();
  const { buildSync } = await import("esbuild");
  const { outputFiles, metafile } = buildSync({
    absWorkingDir: root,
    entryPoints: [entry],
    bundle: true,
    write: false,
    metafile: true,
    platform: "node",
    format: "iife",
    // A bundle has no place of its own; this is right for the files of api/ itself.
    define: { "import.meta.dirname": "apiFolder" },
    banner: { js: "(function (require, apiFolder) {" },
    footer: { js: "})" },
    target: "node20",
    minifySyntax: true,
    minifyWhitespace: true,
    logLevel: "error",
  });
  const code = outputFiles[0].text;
  return { path: keep(code, Object.keys(metafile.inputs), begun), code };
}

/** @returns null where it cannot be kept */
function keep(code, bundled, begun) {
  try {
    const inputs = [...deciding.filter(isThere), ...bundled];
    if (!inputs.every((input) => settledBefore(input, begun))) return null;
    const path = keptAs(keyOf(inputs));
    mkdirSync(cache, { recursive: true });
    writeWhole(path, code);
    writeWhole(inputList, JSON.stringify(inputs));
    dropOthers(path);
    return path;
  } catch {
    return null;
  }
}

const isThere = (file) => statSync(join(root, file), { throwIfNoEntry: false }) !== undefined;

/** Whether the file cannot have changed while it was bundled: it would be kept under a hash of what it is by now. */
function settledBefore(file, milliseconds) {
  const { mtimeMs, ctimeMs } = statSync(join(root, file));
  return Math.max(mtimeMs, ctimeMs) < milliseconds - 50;
}

/** Written beside, to the disk, and then renamed: two starts at once never read half a file, nor does one after a power cut. */
function writeWhole(path, content) {
  const aside = `${path}.${process.pid}`;
  writeFileSync(aside, content, { flush: true });
  renameSync(aside, path);
}

/** Bundles of sources as they were; a start that misses one which it was about to read makes its own. */
function dropOthers(path) {
  const kept = [basename(path), basename(inputList)];
  const others = readdirSync(cache).filter(
    (file) => file.startsWith(name) && !kept.some((own) => file.startsWith(own)),
  );
  for (const file of others) rmSync(join(cache, file), { force: true });
}

/** What V8 compiled of a bundle, as far as it ran; another version of V8 refuses it, and it is then made anew. */
const compiledOf = (path) => `${path}.${process.versions.v8}`;

function compiledBefore(path) {
  try {
    return path === null ? undefined : readFileSync(compiledOf(path));
  } catch {
    return undefined;
  }
}

function keepCompiled(script, path) {
  try {
    writeWhole(compiledOf(path), script.createCachedData());
  } catch {
    // The next start compiles again.
  }
}

const { path, code } = keptBundle() ?? (await newBundle());
const cachedData = compiledBefore(path);
const script = new Script(code, { filename: path ?? name, cachedData });
const compiledAnew = cachedData === undefined || script.cachedDataRejected;
// A start that only prints the help has compiled too little to be worth keeping.
if (path !== null && compiledAnew && !rest.includes("--help")) process.on("exit", () => keepCompiled(script, path));
process.argv = [process.argv[0], self, ...rest];
script.runInThisContext()(createRequire(import.meta.url), join(root, "api"));
