/**
 * How parts, states and figures are spoken of: the technician's words of words.md.
 */
import type { EngineState, Part, RadioState } from "../job/job.ts";
import { engineWords, kindWords, pointWords, radioWords } from "../plain-words.ts";
import type { Place } from "../reading/reading.ts";
import { plainAmps, plainVolts } from "../round-for-print.ts";

/** 'ground-stud', or 'P4 (ground stud)' where the id does not say what the part is. */
export function partWords(part: Part): string {
  const kind = kindWords(part);
  const said = part.id.replaceAll("-", " ").toLowerCase();
  return kind.split(" ").some((word) => word.length > 3 && said.includes(word)) ? part.id : `${part.id} (${kind})`;
}

export const list = (items: readonly string[], word = "or"): string =>
  items.length < 2 ? (items[0] ?? "") : `${items.slice(0, -1).join(", ")} ${word} ${items.at(-1)}`;

export function stateWords(engine: EngineState | null, radio: RadioState): string {
  return `${radioWords[radio]}, ${engine === null ? "engine not known" : engineWords[engine]}`;
}

export function placeWords(place: Place): string {
  return place.quantity === "amps"
    ? `clamp on ${place.through}`
    : `${pointWords(place.from)} to ${pointWords(place.to)}`;
}

export const figureWords = (place: Place, value: number): string =>
  place.quantity === "amps" ? plainAmps(value) : plainVolts(value);
