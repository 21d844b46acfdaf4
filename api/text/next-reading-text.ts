/** The readings worth taking next: where each probe goes, in which state, why, and what to take care of. */
import {
  cautionsForReading,
  engineWords,
  type Job,
  type NextReading,
  pointWords,
  type RoundDiagnosis,
  radioWords,
} from "../../analysis/index.ts";
import { wrapped } from "./page.ts";

export function nextReadingLines(job: Job, { nextReadings }: RoundDiagnosis): string[] {
  const lines = nextReadings.flatMap((reading, index) => [
    ...wrapped(`  ${index + 1}. `, `${readingWords(reading)}.`),
    ...(reading.why === "" ? [] : wrapped("     Why: ", reading.why)),
  ]);
  const cautions = new Set(nextReadings.flatMap((reading) => cautionsForReading(job, reading).map(({ text }) => text)));
  return [...lines, ...[...cautions].flatMap((text) => wrapped("     ! ", text))];
}

export function readingWords({ from, to, through, engine, radio, bypassed = [], drawnBy }: NextReading): string {
  const place =
    through !== undefined
      ? `DC clamp round ${through}`
      : `Red probe on ${pointWords(from ?? "?")}, black probe on ${pointWords(to ?? "?")}`;
  const keyed = drawnBy === "test-load" ? "a steady test load in the set's place" : radioWords[radio];
  const jumper = bypassed.length > 0 ? `, a heavy jumper round ${bypassed.join(" and ")}` : "";
  return `${place}; ${engineWords[engine]}, ${keyed}${jumper}`;
}
