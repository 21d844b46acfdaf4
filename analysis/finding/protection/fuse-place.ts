/**
 * Whether the feed is fused, how far from the battery, and what lies bare before the fuse.
 */
import type { Fuse, Job, Part, Wire } from "../../job/job.ts";
import { isLoad, isPart, partsOf } from "../../job/route.ts";
import type { Metres } from "../../units.ts";
import type { ProtectionCheck } from "./check.ts";
import { namesIso } from "./local-rules.ts";
import { fusesOf } from "./protected-wire.ts";

/** 7 in, printed by others as 18 cm: 33 CFR 183.455(b), ABYC E-11 (11.10). */
const bareMetres: Metres = 0.18;
/** ISO 10133:2000 clause 8.1, seen second-hand. */
const isoMetres: Metres = 0.2;
/** 40 in in a sheath or enclosure all the way: 33 CFR 183.455(b). */
const sheathedMetres: Metres = 1.02;
/** 72 in sheathed and straight from a battery terminal: ABYC E-11, seen second-hand. */
const longestMetres: Metres = 1.83;
/** A charging source, which a converter is to its load: ISO 13297 (2020+A1:2022) clause 12.3. */
const chargerMetres: Metres = 1.8;

/** Two figures for one stretch that differ by no more than where the tape was held. */
const sameDistanceMetres: Metres = 0.1;

const cited = "33 CFR 183.455(b): 7 in, sheathed 40 in; ABYC E-11 (seen second-hand): 72 in from a battery terminal";

function citedFor({ setting, source, rules }: Job): string {
  const iso = namesIso(rules ?? "") ? "ISO 10133:2000 8.1 (seen second-hand): 200 mm; " : "";
  const charger = source.kind === "converter" ? "; ISO 13297 12.3: within 1.8 m of a charging source" : "";
  return `${iso}${cited}${charger}${setting === "boat" ? "" : "; boat rules, taken as common practice in vehicles"}`;
}

export function fusePlaceChecks(job: Job): ProtectionCheck[] {
  const fuse = fusesOf(job, "supply")[0];
  return fuse === undefined ? [noFuse(job)] : [distanceCheck(job, fuse)];
}

function noFuse(job: Job): ProtectionCheck {
  const parts = supplyParts(job);
  const standsIn = whatStandsIn(job, parts);
  return {
    part: parts[0]?.id ?? "",
    check: "fuse in the feed",
    pass: standsIn === null ? false : null,
    detail: standsIn ?? "no fuse between battery + and the load; one belongs at the battery",
    source: "33 CFR 183.455(b) on boats; general practice in vehicles",
  };
}

function supplyParts(job: Job): Part[] {
  return job.loop.slice(0, job.loop.findIndex(isLoad)).filter(isPart);
}

/** What may protect the feed though no fuse is declared, in words. */
function whatStandsIn(job: Job, parts: readonly Part[]): string | null {
  const breaker = parts.find((part) => part.part === "switch" && /breaker/i.test(`${part.id} ${part.label ?? ""}`));
  if (breaker !== undefined)
    return `no fuse, but breaker '${breaker.id}': its rating and place should be looked at by hand`;
  if (job.source.kind === "converter")
    return "no fuse: whether the converter's own limit protects the wire stands on its sheet";
  return null;
}

function distanceCheck(job: Job, fuse: Fuse): ProtectionCheck {
  const before = wiresBefore(job, fuse);
  const sheathed = sheathing(before);
  const distances = declaredDistances(fuse, before);
  const passes = distances.map((metres) => distancePasses(job, metres, sheathed));
  return {
    part: fuse.id,
    check: "fuse's distance from the battery",
    pass: passes.length > 0 && passes.every((pass) => pass === passes[0]) ? passes[0]! : null,
    detail:
      distances.length === 0
        ? "the fuse's metres from the battery should be declared to tell"
        : `${distances.map((metres) => metres.toFixed(2)).join(" or ")} m from the battery${
            distances.length > 1 ? " (its own figure and the wire before it differ: measure along the wire)" : ""
          }, ${sheathWords[`${sheathed}`]}; at most ${bareMetres} m bare, ${sheathedMetres} m sheathed`,
    source: citedFor(job),
  };
}

/** The fuse's own figure, and the length of the wires before it where that is more than a lead's end beside it. */
function declaredDistances({ metresFromBattery }: Fuse, before: readonly Wire[]): Metres[] {
  const wired = before.reduce((sum, { metres }) => sum + metres, 0);
  const ofWires = before.length > 0 && !before.some(({ unknown }) => unknown?.includes("length")) ? [wired] : [];
  if (metresFromBattery === undefined) return ofWires;
  return [metresFromBattery, ...ofWires.filter((metres) => Math.abs(metres - metresFromBattery) > sameDistanceMetres)];
}

const sheathWords = { true: "sheathed", false: "not sheathed", null: "sheath not declared" } as const;

function wiresBefore(job: Job, fuse: Fuse): Wire[] {
  const parts = partsOf(job);
  return parts.slice(0, parts.indexOf(fuse)).filter((part): part is Wire => part.part === "wire");
}

/** null: not declared for all of the stretch */
function sheathing(wires: readonly Wire[]): boolean | null {
  if (wires.some(({ sheathed }) => sheathed === false)) return false;
  return wires.length > 0 && wires.every(({ sheathed }) => sheathed === true) ? true : null;
}

function distancePasses({ source, rules }: Job, metres: Metres, sheathed: boolean | null): boolean | null {
  if (metres <= (namesIso(rules ?? "") ? isoMetres : bareMetres)) return true;
  if (source.kind === "converter" && metres <= chargerMetres && sheathed !== true) return null;
  if (metres > longestMetres) return false;
  // the metric rule allows 2 cm more; past 40 in the rules part ways
  if (metres <= isoMetres || (metres > sheathedMetres && sheathed !== false)) return null;
  return sheathed;
}
