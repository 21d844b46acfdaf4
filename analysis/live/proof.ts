/**
 * Whether a recipe holds on a meter's own stream: enough readings, hardly a damaged frame, no value that stands alone far
 * from both its neighbours, one quantity. A wrong recipe that fits what was typed shows itself in one of them.
 */
import type { Chunk } from "../teach/framing.ts";
import { type Recipe, readStream } from "../teach/recipe.ts";

export interface Proof {
  readonly readings: number;
  readonly damaged: number;
  /** values far from both neighbours, which are near each other */
  readonly strays: number;
  readonly overRange: number;
  readonly proven: boolean;
  /** what speaks against it, in a sentence; null where nothing does, or where only more readings are wanted */
  readonly against: string | null;
}

const enough = 12;
const mostShare = 0.05;

export function proofOf(recipe: Recipe, chunks: readonly Chunk[]): Proof {
  const read = readStream(recipe, chunks);
  const damaged = read.filter((reading) => "damaged" in reading).length;
  const overRange = read.filter((reading) => "overRange" in reading).length;
  const values = read.flatMap((reading) => ("value" in reading ? [reading] : []));
  const quantities = new Set(values.map(({ unit }) => unit.at(-1)));
  const strays = straysAmong(values.map(({ value, unit }) => (unit.startsWith("m") ? value / 1000 : value)));
  const readings = values.length + overRange;
  const against = contradiction(readings, damaged, strays, quantities.size);
  return { readings, damaged, strays, overRange, proven: against === null && values.length >= enough, against };
}

function contradiction(readings: number, damaged: number, strays: number, quantities: number): string | null {
  if (quantities > 1) return "It reads volts and amps by turns.";
  if (readings + damaged < enough) return null;
  if (damaged > mostShare * (readings + damaged))
    return `${damaged} of ${readings + damaged} frames cannot be read with it.`;
  if (strays > mostShare * readings)
    return `${strays} of ${readings} values jump away and back: it may read the wrong bytes.`;
  return null;
}

/** Values more than ten times as far from both neighbours as those are from each other, and by a tenth of what was seen. */
function straysAmong(values: readonly number[]): number {
  const range = Math.max(...values, 0) - Math.min(...values, 0);
  let strays = 0;
  for (let i = 1; i < values.length - 1; i++) {
    const [before, here, after] = [values[i - 1]!, values[i]!, values[i + 1]!];
    const apart = Math.abs(after - before);
    const away = Math.min(Math.abs(here - before), Math.abs(here - after));
    if (away > 10 * apart && away > 0.1 * range) strays++;
  }
  return strays;
}
