/**
 * The worker's program as one text, bundled once when the server starts: a worker then starts in a moment and needs
 * no loader of its own. Its hash is the program's version as far as a diagnosis can tell.
 */
import { createHash } from "node:crypto";
import { join } from "node:path";
import { build } from "esbuild";

export interface WorkerCode {
  readonly text: string;
  readonly version: string;
}

let made: Promise<WorkerCode> | undefined;

export function workerCode(): Promise<WorkerCode> {
  made ??= bundle();
  return made;
}

async function bundle(): Promise<WorkerCode> {
  const { outputFiles } = await build({
    entryPoints: [join(import.meta.dirname, "diagnosing-worker.ts")],
    bundle: true,
    write: false,
    platform: "node",
    format: "cjs",
    target: "node20",
    logLevel: "error",
  });
  const { text } = outputFiles[0]!;
  return { text, version: createHash("sha256").update(text).digest("hex").slice(0, 16) };
}
