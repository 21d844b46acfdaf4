/**
 * Tries every proposed coding on the frames around the typed values alone, which is quick, and keeps those with which a
 * factor, or powers of ten chosen by some field, explain all that was typed.
 */
import { type CodingProposal, proposeCodings } from "./coding-search.ts";
import type { KindProposal } from "./frame-kind-search.ts";
import { type IntegerCoding, type NumberCoding, reader } from "./number-coding.ts";
import { type Fit, fixedFits, powerOptions, zeroedFits } from "./scale-search.ts";
import { proposeSegments } from "./segment-search.ts";
import type { Domain, Sighting } from "./sighting.ts";
import { textNumber } from "./text-number.ts";
import { proposeTextCodings } from "./text-search.ts";

export interface Survivor {
  readonly coding: NumberCoding;
  readonly cost: number;
  /** the coding carries the sign itself */
  readonly signed: boolean;
  /** one factor for all; empty where only a range field can explain what was typed */
  readonly fits: readonly Fit[];
  /** text with its unit behind it: numbers are brought to V and A before anything else */
  readonly unitWritten: boolean;
}

export function survivors(kind: KindProposal, sightings: readonly Sighting[], domain: Domain): Survivor[] {
  if (sightings.some((sighting) => sighting.frames.length === 0)) return [];
  const near = nearFrames(kind, sightings);
  const out = kind.text ? textSurvivors(kind, near, domain) : binarySurvivors(near);
  if (!kind.text)
    for (const proposal of proposeSegments(kind.frames, sightings))
      out.push(...keep(proposal, near, reader(proposal.coding)));
  return out.sort((a, b) => a.cost - b.cost);
}

interface Near {
  readonly frames: readonly Uint8Array[];
  /** sightings that point into `frames` */
  readonly sightings: readonly Sighting[];
  readonly shortest: number;
}

function nearFrames(kind: KindProposal, sightings: readonly Sighting[]): Near {
  const place = new Map<number, number>();
  for (const { frames } of sightings) for (const frame of frames) if (!place.has(frame)) place.set(frame, place.size);
  return {
    frames: [...place.keys()].map((frame) => kind.frames[frame]!),
    sightings: sightings.map((sighting) => ({
      ...sighting,
      frames: sighting.frames.map((frame) => place.get(frame)!),
    })),
    shortest: kind.frames.reduce((least, frame) => Math.min(least, frame.length), 96),
  };
}

function binarySurvivors(near: Near): Survivor[] {
  const out: Survivor[] = [];
  for (const proposal of proposeCodings(near.shortest)) {
    out.push(...keep(proposal, near, reader(proposal.coding)));
    if (proposal.coding.coding === "integer" && topBitLives(proposal.coding, near))
      out.push(...signedForms(proposal, near, proposal.coding));
  }
  out.push(...maskedSurvivors(near));
  if (out.length === 0) out.push(...zeroedSurvivors(near));
  return out;
}

function topBitLives({ pieces }: IntegerCoding, { frames }: Near): boolean {
  const [at, shift, width] = pieces[0]!;
  const top = 1 << (shift + width - 1);
  return frames.some((frame) => (frame[at]! & top) !== 0);
}

/** The top bit lives: it may be a sign. */
function signedForms(proposal: CodingProposal, near: Near, coding: IntegerCoding): Survivor[] {
  const costs = { "twos-complement": 0, "sign-magnitude": 1.5, "middle-is-zero": 2 } as const;
  return Object.entries(costs).flatMap(([form, cost]) => {
    const changed: IntegerCoding = { ...coding, form: form as keyof typeof costs };
    return keep({ coding: changed, cost: proposal.cost + cost, signed: true }, near, reader(changed));
  });
}

function keep(proposal: CodingProposal, near: Near, read: (frame: Uint8Array) => number): Survivor[] {
  return keepRaw(proposal, near, (frame) => read(near.frames[frame]!));
}

function keepRaw(proposal: CodingProposal, near: Near, raw: (frame: number) => number): Survivor[] {
  const fits = fixedFits(raw, near.sightings, !proposal.signed);
  const base = { coding: proposal.coding, signed: proposal.signed, unitWritten: false };
  if (fits.length > 0) return [{ ...base, cost: proposal.cost + Math.min(...fits.map((fit) => fit.cost)), fits }];
  if (near.sightings.length < 2 || !ranged(proposal.coding, raw, near.sightings)) return [];
  return [{ ...base, cost: proposal.cost + 6, fits: [] }];
}

function ranged(coding: NumberCoding, raw: (frame: number) => number, sightings: readonly Sighting[]): boolean {
  return (coding.coding !== "float" || coding.layout === "ieee-754") && powerOptions(raw, sightings) !== null;
}

/** A converter's middle that is no power of two, and the like: asked only where nothing plainer explains what was typed. */
function zeroedSurvivors(near: Near): Survivor[] {
  const out: Survivor[] = [];
  for (const proposal of proposeCodings(near.shortest)) {
    if (proposal.coding.coding !== "integer" || proposal.coding.pieces.some((piece) => piece[2] !== 8)) continue;
    const raw = Float64Array.from(near.frames, reader(proposal.coding));
    const fits = zeroedFits((frame) => raw[frame]!, near.sightings);
    if (fits.length > 0)
      out.push({
        coding: proposal.coding,
        cost: proposal.cost + fits[0]!.cost,
        signed: true,
        fits,
        unitWritten: false,
      });
  }
  return out;
}

/** Display counts laid under a constant mask: the mask must come out the same for every typed value. */
function maskedSurvivors(near: Near): Survivor[] {
  if (near.sightings.length < 3) return [];
  const out: Survivor[] = [];
  for (let at = 0; at < near.shortest; at++) {
    for (const width of [2, 3, 4]) {
      if (at + width > near.shortest) continue;
      const forward = Array.from({ length: width }, (_, i) => at + i);
      for (const places of [forward, [...forward].reverse()]) {
        for (const mask of commonMasks(near, places)) {
          const pieces = places.map((place): [number, number, number] => [place, 0, 8]);
          const coding: IntegerCoding = { coding: "integer", pieces, form: "twos-complement", mask };
          const repeats = mask.every((byte) => byte === mask[0]);
          const cost = Math.log(near.shortest) + 1 + (repeats ? 5.5 : 5.5 * width);
          out.push(...keep({ coding, cost, signed: true }, near, reader(coding)));
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
  return [...(common?.values() ?? [])].filter((mask) => mask.some((byte) => byte !== 0));
}

function textSurvivors(kind: KindProposal, near: Near, domain: Domain): Survivor[] {
  const out: Survivor[] = [];
  for (const proposal of proposeTextCodings(kind.frames)) {
    if (domain === "base") out.push(...writtenUnit(proposal, near));
    out.push(...keep(proposal, near, reader(proposal.coding)));
  }
  return out;
}

/** Numbers with V, mV, A or mA behind them speak for themselves. */
function writtenUnit(proposal: CodingProposal, near: Near): Survivor[] {
  if (proposal.coding.coding !== "text") return [];
  const coding = proposal.coding;
  let written = 0;
  const raw = Float64Array.from(near.frames, (frame) => {
    const { number, unit } = textNumber(coding, String.fromCharCode(...frame));
    if (unit !== "") written++;
    return unit.startsWith("m") ? number / 1000 : number;
  });
  if (written < 0.5 * near.frames.length) return [];
  const fits = fixedFits((frame) => raw[frame]!, near.sightings, false).filter((fit) => fit.factor === 1);
  return fits.length > 0 ? [{ coding, cost: proposal.cost - 2, signed: true, fits, unitWritten: true }] : [];
}
