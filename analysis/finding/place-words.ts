/**
 * How parts, states and figures are spoken of: the technician's words of words.md.
 */
import type { EngineState, Part, RadioState } from "../job/job.ts";
import type { Place } from "../reading/reading.ts";

const kindWords: Readonly<Record<string, string>> = {
  "battery-post": "battery post clamp",
  "ring-lug": "ring lug",
  plug: "plug",
  splice: "splice",
  "ground-stud": "ground stud",
  strap: "strap",
  "screw-terminal": "screw terminal",
  "push-on": "push-on terminal",
  "accessory-socket": "accessory socket",
  fuse: "fuse with its holder",
  switch: "switch",
  chassis: "body or chassis path",
  wire: "wire",
};

/** 'ground-stud (ground stud)': the id as declared, with what it is where the id does not say it. */
export function partWords(part: Part): string {
  const kind = kindWords[part.part === "connection" ? part.style : part.part]!;
  const said = part.id.replaceAll("-", " ").toLowerCase();
  return said.includes(kind.split(" ")[0]!) ? part.id : `${part.id} (${kind})`;
}

export const list = (items: readonly string[], word = "or"): string =>
  items.length < 2 ? (items[0] ?? "") : `${items.slice(0, -1).join(", ")} ${word} ${items.at(-1)}`;

export function stateWords(engine: EngineState | null, radio: RadioState): string {
  const radioWords = { idle: "receiving", transmit: "keyed", off: "set switched off" }[radio];
  const engineWords = engine === null ? "engine not known" : `engine ${engine}`;
  return `${radioWords}, ${engineWords}`;
}

export function placeWords(place: Place): string {
  return place.quantity === "amps" ? `clamp on ${place.through}` : `${place.from} to ${place.to}`;
}

/** Volts to the hundredth, small ones to the millivolt. */
export function voltWords(volts: number): string {
  return Math.abs(volts) < 0.1 ? `${(volts * 1000).toFixed(0)} mV` : `${volts.toFixed(2)} V`;
}

export const ampWords = (amps: number): string => `${amps.toFixed(Math.abs(amps) < 10 ? 2 : 1)} A`;

export const figureWords = (place: Place, value: number): string =>
  place.quantity === "amps" ? ampWords(value) : voltWords(value);

export const legWords = (leg: "supply" | "return"): string => (leg === "supply" ? "feed side" : "ground side");
