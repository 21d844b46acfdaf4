// Every sample job with one of its files hurt: a diagnosis without NaN or one Problem, and soon; never anything else.
// Seeded; FUZZ_SECONDS lengthens the run by hand, FUZZ_SEED draws other injuries.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { diagnoseFiles, Problem } from "../analysis/index.ts";
import { chance, hurt } from "./fixtures/hurt.ts";

const samples = join(import.meta.dirname, "../sample-logs");
const names = readdirSync(samples, { withFileTypes: true }).flatMap((entry) =>
  entry.isDirectory() ? [entry.name] : [],
);
const seconds = Number(process.env.FUZZ_SECONDS ?? 5);
const slowestAllowed = 20_000;

function filesOf(name: string): Map<string, Uint8Array> {
  const folder = join(samples, name);
  const files = readdirSync(folder).filter((file) => file !== "truth.json" && file !== "expected.json");
  return new Map(files.map((file) => [file, readFileSync(join(folder, file))]));
}

/** Where in an answer a number is none; null where all are. */
function notFinite(value: unknown, place = "answer"): string | null {
  if (typeof value === "number") return Number.isFinite(value) ? null : place;
  if (typeof value !== "object" || value === null) return null;
  for (const [key, inside] of Object.entries(value)) {
    const found = notFinite(inside, `${place}.${key}`);
    if (found !== null) return found;
  }
  return null;
}

test("gives a diagnosis or a Problem, no NaN, and soon", { timeout: 1000 * seconds + 60_000 }, () => {
  const random = chance(Number(process.env.FUZZ_SEED ?? 11));
  const until = performance.now() + 1000 * seconds;
  const counts = { diagnosed: 0, refused: 0 };
  let slowest = 0;
  for (let round = 0; performance.now() < until; round++) {
    const name = names[round % names.length]!;
    const files = filesOf(name);
    const file = [...files.keys()][Math.floor(random() * files.size)]!;
    files.set(file, hurt(files.get(file)!, random));
    const start = performance.now();
    try {
      expect(notFinite(diagnoseFiles(name, files)), `round ${round}: ${name}, ${file}`).toBeNull();
      counts.diagnosed++;
    } catch (error) {
      if (!(error instanceof Problem)) throw new Error(`round ${round}: ${name}, ${file}`, { cause: error });
      counts.refused++;
    }
    slowest = Math.max(slowest, performance.now() - start);
  }
  console.log(
    `hurt samples: ${counts.diagnosed} diagnosed, ${counts.refused} refused, the slowest in ${slowest.toFixed(0)} ms`,
  );
  expect(counts.diagnosed + counts.refused).toBeGreaterThan(0);
  expect(slowest).toBeLessThan(slowestAllowed);
});
