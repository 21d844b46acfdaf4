/** The built web app in dist/: built anew where it is missing or older than what it is made of. */
import { existsSync, readdirSync, renameSync, rmSync, statSync } from "node:fs";
import { join } from "node:path";

const sources = ["web", "analysis", "sample-logs", "vite.config.ts", "package-lock.json"];

/** @returns the folder to serve */
export async function builtApp(projectRoot: string): Promise<string> {
  const dist = join(projectRoot, "dist");
  const newest = Math.max(...sources.map((source) => newestChange(join(projectRoot, source))));
  if (!isBuilt(dist, newest)) await buildAside(projectRoot, dist, newest);
  return dist;
}

function isBuilt(dist: string, newestMilliseconds: number): boolean {
  const lastWritten = join(dist, "sw.js");
  return existsSync(lastWritten) && statSync(lastWritten).mtimeMs >= newestMilliseconds;
}

/** Built beside and put in place at once: whoever is being served meanwhile never sees half an app. */
async function buildAside(projectRoot: string, dist: string, newestMilliseconds: number): Promise<void> {
  const { build } = await import("vite");
  const aside = join(projectRoot, "node_modules", `.app-${process.pid}`);
  const configFile = join(projectRoot, "vite.config.ts");
  await asProduction(() => build({ configFile, logLevel: "warn", build: { outDir: aside, emptyOutDir: true } }));
  const old = `${aside}-old`;
  // another server that was started at the same time may have been first
  if (isBuilt(dist, newestMilliseconds)) renameSync(aside, old);
  else {
    if (existsSync(dist)) renameSync(dist, old);
    renameSync(aside, dist);
  }
  rmSync(old, { recursive: true, force: true });
}

/** The environment of whoever starts the server (a test, a development shell) must not decide what is built. */
async function asProduction<T>(work: () => Promise<T>): Promise<T> {
  const was = process.env.NODE_ENV;
  process.env.NODE_ENV = "production";
  try {
    return await work();
  } finally {
    if (was === undefined) delete process.env.NODE_ENV;
    else process.env.NODE_ENV = was;
  }
}

function newestChange(path: string): number {
  if (!existsSync(path)) return 0;
  const stats = statSync(path);
  if (!stats.isDirectory()) return stats.mtimeMs;
  return Math.max(stats.mtimeMs, ...readdirSync(path).map((name) => newestChange(join(path, name))));
}
