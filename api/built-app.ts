/** The built web app in dist/: built anew where it is missing or older than what it is made of. */
import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";

const sources = ["web", "analysis", "sample-logs", "vite.config.ts", "package-lock.json"];

export async function builtApp(projectRoot: string): Promise<string> {
  const dist = join(projectRoot, "dist");
  const built = join(dist, "sw.js");
  const newest = Math.max(...sources.map((source) => newestChange(join(projectRoot, source))));
  if (!existsSync(built) || statSync(built).mtimeMs < newest) {
    const { build } = await import("vite");
    await build({ configFile: join(projectRoot, "vite.config.ts"), logLevel: "warn" });
  }
  return dist;
}

function newestChange(path: string): number {
  if (!existsSync(path)) return 0;
  const stats = statSync(path);
  if (!stats.isDirectory()) return stats.mtimeMs;
  return Math.max(stats.mtimeMs, ...readdirSync(path).map((name) => newestChange(join(path, name))));
}
