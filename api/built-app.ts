/** The built web app in dist/: built anew where it is missing or older than what it is made of. */
import { existsSync, readdirSync, renameSync, rmSync, statSync } from "node:fs";
import { join } from "node:path";

const sources = ["web", "analysis", "sample-logs", "vite.config.ts", "package-lock.json"];

/** @returns the folder to serve */
export async function builtApp(projectRoot: string): Promise<string> {
  const dist = join(projectRoot, "dist");
  const built = join(dist, "sw.js");
  const newest = Math.max(...sources.map((source) => newestChange(join(projectRoot, source))));
  if (!existsSync(built) || statSync(built).mtimeMs < newest) await buildAside(projectRoot, dist);
  return dist;
}

/** Built beside and put in place at once: whoever is being served meanwhile never sees half an app. */
async function buildAside(projectRoot: string, dist: string): Promise<void> {
  const { build } = await import("vite");
  const aside = join(dist, "..", `dist-${process.pid}`);
  await build({
    configFile: join(projectRoot, "vite.config.ts"),
    logLevel: "warn",
    build: { outDir: aside, emptyOutDir: true },
  });
  rmSync(dist, { recursive: true, force: true });
  renameSync(aside, dist);
}

function newestChange(path: string): number {
  if (!existsSync(path)) return 0;
  const stats = statSync(path);
  if (!stats.isDirectory()) return stats.mtimeMs;
  return Math.max(stats.mtimeMs, ...readdirSync(path).map((name) => newestChange(join(path, name))));
}
