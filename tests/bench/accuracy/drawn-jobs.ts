/**
 * Drawn jobs, kept on disk: a job costs a run of the circuit simulator, and a benchmark is run many times over.
 */
import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { type DrawnJob, type DrawOptions, drawJob } from "../../fixtures/recipe/draw-job.ts";

const recipe = fileURLToPath(new URL("../../fixtures/recipe/", import.meta.url));
const cache = fileURLToPath(new URL("../../../node_modules/.cache/loopwalk-recipe/", import.meta.url));

/** Any change of the recipe's sources is another recipe. */
const recipeHash = (() => {
  const hash = createHash("sha256");
  for (const name of readdirSync(recipe).sort())
    if (name.endsWith(".ts")) hash.update(readFileSync(join(recipe, name)));
  return hash.digest("hex").slice(0, 16);
})();

interface Kept {
  readonly files: [string, string][];
  readonly truth: DrawnJob["truth"];
}

export async function drawnJob(seed: number, options: Partial<DrawOptions>): Promise<DrawnJob> {
  const asked = createHash("sha256").update(JSON.stringify(options)).digest("hex").slice(0, 8);
  const folder = join(cache, recipeHash);
  const path = join(folder, `${seed}-${asked}.json`);
  const kept = readKept(path);
  if (kept !== null) return { seed, folder: `drawn-${seed}`, files: new Map(kept.files), truth: kept.truth };
  const job = await drawJob(seed, options);
  mkdirSync(folder, { recursive: true });
  writeFileSync(path, JSON.stringify({ files: [...job.files], truth: job.truth } satisfies Kept));
  return job;
}

function readKept(path: string): Kept | null {
  try {
    return JSON.parse(readFileSync(path, "utf8"));
  } catch {
    return null;
  }
}

/** The folder as the program takes it. */
export const filesAsBytes = (job: DrawnJob): Map<string, Uint8Array> =>
  new Map([...job.files].map(([name, text]) => [name, new TextEncoder().encode(text)]));

export function writeFolder(job: DrawnJob, directory: string): void {
  mkdirSync(directory, { recursive: true });
  for (const [name, text] of job.files) writeFileSync(join(directory, name), text);
  writeFileSync(join(directory, "truth.json"), `${JSON.stringify(job.truth, null, 1)}\n`);
}
