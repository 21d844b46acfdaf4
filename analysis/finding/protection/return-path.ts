/**
 * How the current comes back: the return as good as the supply, chassis or hull as return, a fuse in the negative,
 * a battery sensor on the negative post.
 */

import type { Leg, StateEntry } from "../../diagnosis.ts";
import type { Job, Wire } from "../../job/job.ts";
import { legOf, partsOf } from "../../job/route.ts";
import { expectedParts } from "../../loop/expected-part.ts";
import { metals, wireSquareMillimetres } from "../../loop/wire.ts";
import type { Ohms, SquareMillimetres } from "../../units.ts";
import { type ProtectionCheck, show } from "./check.ts";
import { fusesOf } from "./protected-wire.ts";

/** Structure as return, battery to any equipment's ground: FAA AC 43.13-1B 11-66 and the AMT handbook. */
const structureOhms: Ohms = 5e-3;
const structureSource = "FAA AC 43.13-1B 11-66 (aircraft, taken as a figure): structure return at most 0.005 Ω";
/** A tenth less copper is the same size by another gauge system. */
const sameSizeShare = 0.89;

export function returnPathChecks(job: Job): ProtectionCheck[] {
  return [...thinnestCheck(job), ...chassisCheck(job), ...negativeFuseChecks(job), ...sensorCheck(job)];
}

const wiresOf = (job: Job, leg: Leg): Wire[] =>
  partsOf(job).filter((part): part is Wire => part.part === "wire" && legOf(job, part.id) === leg);

/** Square millimetres of copper that conduct as well. */
const copperSquareMillimetres = (wire: Wire): SquareMillimetres =>
  (wireSquareMillimetres(wire) * metals.copper.resistivity) / metals[wire.material ?? "copper"].resistivity;

function thinnestCheck(job: Job): ProtectionCheck[] {
  const [supply, back] = [wiresOf(job, "supply"), wiresOf(job, "return")];
  if (supply.length === 0 || back.length === 0) return [];
  const [thinnestSupply, thinnestBack] = [supply, back].map((wires) =>
    Math.min(...wires.map(copperSquareMillimetres)),
  ) as [SquareMillimetres, SquareMillimetres];
  const wires = [...supply, ...back];
  const guessed = wires.some(({ unknown }) => unknown?.includes("size"));
  const mixed = wires.some(({ material }) => (material ?? "copper") !== "copper");
  return [
    {
      part: back[0]!.id,
      check: "return as good as the supply",
      pass: guessed ? null : thinnestBack >= sameSizeShare * thinnestSupply,
      detail: `thinnest wire on the ground side ${show(thinnestBack)} mm², on the feed side ${show(thinnestSupply)} mm²${mixed ? " of copper that conducts as well" : ""}${guessed ? ", a size is a guess" : ""}`,
      source: "common practice: the return carries the same current",
    },
  ];
}

function chassisCheck(job: Job): ProtectionCheck[] {
  const chassis = partsOf(job).find((part) => part.part === "chassis");
  if (chassis === undefined) return [];
  if (job.setting === "boat") {
    return [
      {
        part: chassis.id,
        check: "hull is no return",
        pass: false,
        detail: "on a boat the current should come back in a wire of its own; through hull or engine it corrodes metal",
        source: "common practice on boats: the return is a wire",
      },
    ];
  }
  const ohms = expectedParts(job)
    .filter(({ leg }) => leg === "return")
    .reduce((sum, part) => sum + part.ohms, 0);
  return [
    {
      part: chassis.id,
      check: "chassis as return",
      pass: ohms <= structureOhms ? true : null,
      detail: `ground side should measure about ${show(1000 * ohms)} mΩ as declared; a structure return is good up to 5 mΩ, and only a reading under load proves it`,
      source: structureSource,
    },
  ];
}

function negativeFuseChecks(job: Job): ProtectionCheck[] {
  const fuse = fusesOf(job, "return")[0];
  const asked = job.load.fusedLegs === "both";
  if (fuse === undefined && !asked) return [];
  const checks: ProtectionCheck[] = [];
  if (asked) {
    checks.push({
      part: fuse?.id ?? partsOf(job).find(({ id }) => legOf(job, id) === "return")?.id ?? "",
      check: "both leads fused as the maker asks",
      pass: fuse !== undefined,
      detail: fuse === undefined ? "the negative lead has no fuse" : `the negative lead has fuse '${fuse.id}'`,
      source: "the set's manual, as declared in the job",
    });
  }
  // a battery that touches nothing else has no other way back: the set just goes dead
  if (fuse !== undefined && job.source.kind !== "isolated-battery") {
    checks.push({
      part: fuse.id,
      check: "what a blown negative fuse leaves",
      pass: null,
      detail:
        "with this fuse blown the current comes back by the antenna lead and the bracket: check it before the antenna is touched",
      source: "general practice, from memory; installers disagree on fusing the negative",
    });
  }
  return checks;
}

/** Where the set's own negative goes to the battery: there a sensor would sit. Not on boats, whose batteries have none. */
function sensorCheck(job: Job): ProtectionCheck[] {
  const back = partsOf(job).filter(({ id }) => legOf(job, id) === "return");
  const last = back.at(-1);
  if (last === undefined || job.setting === "boat" || job.source.kind === "converter") return [];
  if (back.some(({ part }) => part === "chassis")) return [];
  return [
    {
      part: last.id,
      check: "negative clear of a battery sensor",
      pass: null,
      detail:
        "where a sensor sits on the negative post, the set's negative belongs at the maker's ground point instead",
      source: "general practice, from memory",
    },
  ];
}

/**
 * A chassis return as it was read under load, which is the only proof of one.
 * @param keyed the round's keyed state, engine off; null gives no check, nor does one without current or drop
 */
export function measuredReturnChecks(job: Job, keyed: StateEntry | null): ProtectionCheck[] {
  const chassis = partsOf(job).find((part) => part.part === "chassis");
  if (chassis === undefined || job.setting === "boat" || !keyed?.amps || !keyed.returnDropVolts) return [];
  const { value, high } = keyed.returnDropVolts;
  const amps = keyed.amps.value;
  return [
    {
      part: chassis.id,
      check: "chassis as return, as measured",
      pass: high / amps <= structureOhms ? true : null,
      detail: `${show((1000 * value) / amps)} mΩ on the ground side (${value.toFixed(2)} V at ${show(amps)} A); a structure return is good up to 5 mΩ`,
      source: structureSource,
    },
  ];
}
