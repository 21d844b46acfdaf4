// All wording of the record is in one place, so that a second language is a second object of the same shape.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";

const folder = join(import.meta.dirname, "../../../analysis/document");
/** What draws or puts together; the others speak in errors alone, or hold the words. */
const drawing = /^(record|drawn|profile|sheet|hand|seal)/;

/** Two words side by side in a quoted text: what a reader would read. */
const sentence = /"[^"\n]*[A-Za-z]{2,} [A-Za-z]{2,}[^"\n]*"/g;

test("no other file of the document says anything", () => {
  const files = readdirSync(folder).filter((name) => drawing.test(name) && name !== "record-words.ts");
  expect(files.length).toBeGreaterThan(8);
  const found = files.flatMap((name) => {
    const code = readFileSync(join(folder, name), "utf8").replace(/\/\*[\s\S]*?\*\/|\/\/[^\n]*/g, " ");
    const bare = code.replace(/`[^`]*`/g, " ");
    return [...bare.matchAll(sentence)].map(([text]) => `${name}: ${text}`);
  });
  expect(found).toEqual([]);
});
