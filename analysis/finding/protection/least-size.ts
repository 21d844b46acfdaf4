/**
 * The thinnest wire that the rules for boats allow, whatever it carries: thinner ones break.
 */
import type { Job, Wire } from "../../job/job.ts";
import { partsOf } from "../../job/route.ts";
import { awgSquareMillimetres, gaugeNumber, wireSquareMillimetres } from "../../loop/wire.ts";
import { type ProtectionCheck, show } from "./check.ts";

/** 33 CFR 183.425: 16 AWG by itself, 18 AWG in a sheath. */
const leastGauge = { alone: 16, sheathed: 18 } as const;
/** ISO 10133:2012 clause 7.6 to 7.7, mm². */
const leastMetric = { alone: 1, sheathed: 0.75 } as const;

/** Boats only. Radio wiring is exempt from 33 CFR 183.425 (paragraph g), so that a thinner wire is warned of and not failed. */
export function leastSizeChecks(job: Job): ProtectionCheck[] {
  if (job.setting !== "boat") return [];
  const wires = partsOf(job).filter((part): part is Wire => part.part === "wire");
  const thin = wires.filter((wire) => wire.unknown?.includes("size") || !isThickEnough(wire));
  const [named] = thin.length > 0 ? thin : wires;
  if (named === undefined) return [];
  return [
    {
      part: named.id,
      check: "thinnest wire on a boat",
      pass: thin.length === 0 ? true : null,
      detail: `${thin.length === 0 ? "no wire is thinner" : `${show(wireSquareMillimetres(named))} mm²`}; at least 16 AWG or 1 mm² by itself, 18 AWG or 0.75 mm² in a sheath`,
      source: "33 CFR 183.425 (radio and navigation equipment is exempt: paragraph g); ISO 10133:2012 7.6 and 7.7",
    },
  ];
}

function isThickEnough(wire: Wire): boolean {
  const how = wire.sheathed === true ? "sheathed" : "alone";
  if (wire.awg !== undefined && wire.squareMillimetres === undefined) return gaugeNumber(wire.awg) <= leastGauge[how];
  return wireSquareMillimetres(wire) >= Math.min(leastMetric[how], awgSquareMillimetres(leastGauge[how]));
}
