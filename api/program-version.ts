/** The version that package.json names. */
import { readFileSync } from "node:fs";
import { join } from "node:path";

export function programVersion(): string {
  const text = readFileSync(join(import.meta.dirname, "../package.json"), "utf8");
  return (JSON.parse(text) as { version: string }).version;
}
