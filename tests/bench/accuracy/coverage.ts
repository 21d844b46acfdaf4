/**
 * How often 95 % intervals hold the truth: ohms of parts, volts at the load.
 */
import type { RoundDiagnosis } from "../../../analysis/index.ts";
import type { TrueRound } from "../../fixtures/recipe/truth.ts";

export interface Coverage {
  readonly partOhms: boolean[];
  /** parts at fault only */
  readonly faultOhms: boolean[];
  readonly loadVolts: boolean[];
  /** ln(stated ohms / true ohms) of parts at fault that the readings single out */
  readonly singledOut: number[];
}

export const emptyCoverage = (): Coverage => ({ partOhms: [], faultOhms: [], loadVolts: [], singledOut: [] });

const holds = (interval: { low: number; high: number }, truth: number): boolean =>
  interval.low <= truth && truth <= interval.high;

export function addCoverage(
  coverage: Coverage,
  truth: TrueRound,
  round: Pick<RoundDiagnosis, "parts" | "states">,
): void {
  const faulty = truth.faults.filter((fault) => fault.cause === "high-resistance-connection");
  for (const part of round.parts) {
    const ohms = truth.partOhms[part.id];
    if (part.ohms === null || ohms === undefined) continue;
    coverage.partOhms.push(holds(part.ohms, ohms));
    const fault = faulty.find(({ parts }) => parts.includes(part.id));
    if (fault === undefined) continue;
    coverage.faultOhms.push(holds(part.ohms, ohms));
    if (fault.group.length === 1 && part.ohms.value > 0) coverage.singledOut.push(Math.log(part.ohms.value / ohms));
  }
  for (const state of round.states) {
    const known = truth.states.find(({ engine, radio }) => engine === state.engine && radio === state.radio);
    if (known !== undefined && state.loadVolts !== null)
      coverage.loadVolts.push(holds(state.loadVolts, known.loadVolts));
  }
}

export function joinCoverage(coverages: readonly Coverage[]): Coverage {
  return {
    partOhms: coverages.flatMap(({ partOhms }) => partOhms),
    faultOhms: coverages.flatMap(({ faultOhms }) => faultOhms),
    loadVolts: coverages.flatMap(({ loadVolts }) => loadVolts),
    singledOut: coverages.flatMap(({ singledOut }) => singledOut),
  };
}
