/**
 * From a kind of frame to whole recipes: each coding that fits what was typed, with each scale that it can have, one factor
 * or a range that some field chooses.
 */

import { checkBits, codingBits } from "./coding-bits.ts";
import { type Bound, finish, type Hypothesis, type Scaled, topCodes } from "./completion.ts";
import { eachCountedOnce } from "./field-sorts.ts";
import { jumpingWith } from "./flag-search.ts";
import type { KindProposal } from "./frame-kind-search.ts";
import { emptiesNumber, holds } from "./hold-search.ts";
import { type NumberCoding, reader } from "./number-coding.ts";
import { type Survivor, survivors, total } from "./number-search.ts";
import { type Field, fieldsAt, learntExponents, overlaps, tablesFor } from "./range-search.ts";
import { turnEvidence } from "./range-turns.ts";
import { powerOptions } from "./scale-search.ts";
import { type Scene, sceneOf } from "./scene.ts";
import { type Domain, type Sighting, sightings } from "./sighting.ts";
import { sizeBytes } from "./size-bytes.ts";
import type { Lesson } from "./teach-input.ts";
import { textNumber } from "./text-number.ts";

/** @param bound what the ways found so far cost at least, for all kinds of one lesson */
export function explain(kind: KindProposal, lesson: Lesson, bound: Bound): Hypothesis[] {
  const out: Hypothesis[] = [];
  let scene: Scene | null = null;
  for (const domain of domains(lesson, kind)) {
    const seen = sightings(lesson, kind, domain);
    const found = survivors(kind, seen, domain);
    if (found.length === 0) continue;
    scene ??= sceneOf(kind, lesson);
    let best = Number.POSITIVE_INFINITY;
    for (const survivor of found) {
      if (total(survivor) > best + hopeless) break;
      const whole = completions(scene, survivor, seen, domain, bound);
      best = Math.min(best, ...whole.map(({ cost, logLikelihood }) => cost - kind.cost - logLikelihood));
      out.push(...whole);
    }
  }
  return out;
}

/** A coding that is this much dearer than another with all that belongs to it cannot catch up (nats). */
const hopeless = 10;

function domains(lesson: Lesson, { text }: KindProposal): Domain[] {
  const milli = lesson.numbers.filter((typed) => typed.unit.startsWith("m")).length;
  if (milli === 0) return ["base"];
  // Lines may say their unit themselves.
  return milli === lesson.numbers.length && !text ? ["shown"] : ["base", "shown"];
}

function completions(
  scene: Scene,
  survivor: Survivor,
  seen: readonly Sighting[],
  domain: Domain,
  bound: Bound,
): Hypothesis[] {
  const raw = rawSeries(scene, survivor);
  const unread = raw.filter(Number.isNaN).length / raw.length;
  const own = codingBits(survivor.coding);
  const beside = scene.bits.filter((track) => !own.has(track.at * 8 + track.shift));
  const places = new Set(beside.map(({ at }) => at));
  for (const bit of own) places.delete(bit >> 3);
  const repeating = sizeBytes(raw, scene.kind.frames, [...places]);
  const bits = beside.filter(({ at }) => !repeating.has(at));
  const jumping = scene.kind.text ? [] : jumpingWith(raw, bits);
  const related = [...new Set([...jumping, ...bits.filter((track) => emptiesNumber(track, raw))])];
  const held = new Set(bits.filter((track) => holds(track, raw)));
  const free = freeFields(scene, survivor.coding, own).filter((field) => !repeating.has(field.bits.at));
  const out = scalesOf(raw, survivor, seen, free, oneUnit(seen, domain)).flatMap((scaled) =>
    finish({ scene, survivor, seen, domain, raw, unread, own, repeating, bits, held, related, bound }, scaled),
  );
  return out.sort((a, b) => a.cost - a.logLikelihood - (b.cost - b.logLikelihood)).slice(0, 8);
}

/**
 * A float or a printed number is complete in itself: no range stands beside it. Nor may one lie in the number's own bits, but
 * well in those that the number leaves free in its bytes.
 */
function freeFields({ fields, kind }: Scene, { coding }: NumberCoding, own: ReadonlySet<number>): Field[] {
  if (coding === "float" || coding === "text" || kind.text) return [];
  const beside = fields.filter(({ bits }) => !overlaps(own, bits.at * 8 + bits.shift, bits.bits));
  const shared = [...new Set([...own].map((bit) => bit >> 3))].filter((at) => !wholly(own, at));
  if (shared.length === 0) return eachCountedOnce(beside);
  return eachCountedOnce([
    ...beside.filter(({ bits }) => !shared.includes(bits.at)),
    ...fieldsAt(shared, kind.frames, new Set([...own, ...checkBits(kind.kind)])),
  ]);
}

const wholly = (own: ReadonlySet<number>, at: number): boolean =>
  Array.from({ length: 8 }, (_, bit) => own.has(at * 8 + bit)).every(Boolean);

function rawSeries({ kind }: Scene, { coding, unitWritten }: Survivor): Float64Array {
  if (!unitWritten || coding.coding !== "text") return Float64Array.from(kind.frames, reader(coding));
  return Float64Array.from(kind.frames, (frame) => {
    const { number, unit } = textNumber(coding, String.fromCharCode(...frame));
    return unit.startsWith("m") ? number / 1000 : number;
  });
}

/** Ranges go with the display's own counts: a number that is finer than what was typed has one step for all (our choice; nats). */
const finerCost = (times: number): number => (times > 30 ? 8 : times > 8 ? 4 : 0);

/** Whether all that was typed is in one unit, or brought to one. */
const oneUnit = (seen: readonly Sighting[], domain: Domain): boolean =>
  domain === "base" || new Set(seen.map(({ typed }) => typed.unit)).size === 1;

function scalesOf(
  raw: Float64Array,
  survivor: Survivor,
  seen: readonly Sighting[],
  free: readonly Field[],
  oneUnit: boolean,
): Scaled[] {
  // Codes for over-range are no sizes.
  const codes = topCodes(survivor.coding);
  const sizes = raw.map((x) => (codes.includes(x) ? Number.NaN : Math.abs(x)));
  const ownPoint = survivor.coding.coding === "segments";
  const place = Math.log(new Set(free.map(({ bits }) => bits.at)).size + 1);
  const single = survivor.fits.map((fit) => ({ fit, range: null, cost: fit.cost }));
  const ranged: Scaled[] = [];
  const options = free.length > 0 ? powerOptions((frame) => raw[frame]!, seen) : null;
  if (options) {
    for (const field of free) {
      const known = learntExponents(field, options);
      if (!known || known.size === 0) continue;
      const told = new Set(known.values()).size > 1;
      const finer = (2 * Math.min(...seen.map(({ half }) => half))) / 10 ** Math.min(...known.values());
      // One exponent for all that was typed: that the field chooses it is only what the stream suggests.
      const suggested = (told ? 0 : 1.5 - turnEvidence(field, new Set(known.keys()), sizes)) + finerCost(finer);
      for (const table of tablesFor(field, known, sizes, ownPoint, oneUnit).slice(0, 3)) {
        if (!told && table.inferred.length === 0) continue;
        const cost = 1.5 + place + field.ragged + suggested + table.cost + 0.3 * field.distinct.length;
        ranged.push({
          fit: { factor: 1, zero: 0, looseness: 0, tolerance: 0, cost: 0 },
          range: { field, table },
          cost,
        });
      }
    }
  }
  return [...single, ...ranged.sort((a, b) => a.cost - b.cost).slice(0, 6)];
}
