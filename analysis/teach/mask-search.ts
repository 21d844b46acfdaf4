/** Display counts laid under a constant mask: the mask must come out the same for every typed value. */
import type { CodingProposal } from "./coding-search.ts";
import type { IntegerCoding } from "./number-coding.ts";
import type { Sighting } from "./sighting.ts";

interface Near {
  readonly frames: readonly Uint8Array[];
  readonly sightings: readonly Sighting[];
  readonly shortest: number;
}

export function maskedCodings(near: Near): CodingProposal[] {
  if (near.sightings.length < 3) return [];
  const out: CodingProposal[] = [];
  for (let at = 0; at < near.shortest; at++) {
    for (const width of [2, 3, 4]) {
      if (at + width > near.shortest) continue;
      const forward = Array.from({ length: width }, (_, i) => at + i);
      for (const places of [forward, [...forward].reverse()]) {
        for (const mask of commonMasks(near, places)) {
          const pieces = places.map((place): [number, number, number] => [place, 0, 8]);
          const coding: IntegerCoding = { coding: "integer", pieces, form: "twos-complement", mask };
          const repeats = mask.every((byte) => byte === mask[0]);
          out.push({ coding, cost: Math.log(near.shortest) + 1 + (repeats ? 5.5 : 5.5 * width), signed: true });
        }
      }
    }
  }
  return out;
}

function commonMasks(near: Near, places: readonly number[]): number[][] {
  let common: Map<string, number[]> | null = null;
  const order = [...near.sightings].sort((a, b) => a.frames.length - b.frames.length);
  for (const sighting of order) {
    const here = new Map<string, number[]>();
    const counts = Math.round(sighting.typed.shown / sighting.typed.step);
    for (const frame of sighting.frames) {
      const mask = places.map(
        (place, i) => near.frames[frame]![place]! ^ ((counts >> (8 * (places.length - 1 - i))) & 0xff),
      );
      const key = mask.join();
      if (!common || common.has(key)) here.set(key, mask);
    }
    common = here;
    if (here.size === 0) return [];
  }
  // A mask that leaves bytes as they are only makes up for a typed value whose frame was lost.
  return [...(common?.values() ?? [])].filter((mask) => mask.every((byte) => byte !== 0));
}
