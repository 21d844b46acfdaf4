/**
 * Round against round: what each part's ohms did, what the load gained, and whether the repair held.
 * Goes in: two rounds with their belief. Comes out: the comparison of `formats.md`.
 */
import type { Comparison, Q, RoundDiagnosis } from "../diagnosis.ts";
import { type DrawnBelief, keyedCondition } from "../finding/figures.ts";
import { quantity, type UncertainQuantity } from "../uncertain.ts";

export interface RoundBelief {
  readonly diagnosis: RoundDiagnosis;
  readonly drawn: DrawnBelief;
}

/** A mended fault is one that is hardly believed any more. */
const mendedProbability = 0.2;

export function compareRounds(before: RoundBelief, after: RoundBelief): Comparison {
  const volts = { before: keyedLoadVolts(before), after: keyedLoadVolts(after) };
  return {
    from: before.diagnosis.round,
    to: after.diagnosis.round,
    loadVoltsGained:
      volts.before === null || volts.after === null
        ? null
        : quantity(
            volts.after.value - volts.before.value,
            Math.hypot(volts.after.uncertainty, volts.before.uncertainty),
          ),
    parts: partChanges(before, after),
    repairHeld: repairHeld(before.diagnosis, after.diagnosis),
  };
}

/** The load's volts keyed, in the state that both rounds are quoted in. */
function keyedLoadVolts({ diagnosis, drawn }: RoundBelief): UncertainQuantity | null {
  const { engine } = keyedCondition(drawn);
  return diagnosis.states.find((state) => state.engine === engine && state.radio === "transmit")?.loadVolts ?? null;
}

function partChanges(before: RoundBelief, after: RoundBelief): Comparison["parts"] {
  const ohmsBefore = before.diagnosis.parts;
  return after.diagnosis.parts.flatMap((part) => {
    const index = ohmsBefore.findIndex(({ id }) => id === part.id);
    if (index < 0) return [];
    const now = after.diagnosis.parts.indexOf(part);
    return [
      {
        id: part.id,
        ohmsBefore: ohmsBefore[index]!.ohms,
        ohmsAfter: part.ohms,
        changeIsReal: changeIsReal(partOhms(before, index), partOhms(after, now)),
      },
    ];
  });
}

const partOhms = ({ drawn }: RoundBelief, index: number): number[] =>
  drawn.after.map((draw) => draw.belief.model.partOhms(draw.values, false)[index]!);

/** Twice the excess of the likelier direction over one half: 0 where up and down are as likely, 1 where one is certain. */
function changeIsReal(before: readonly number[], after: readonly number[]): number {
  const sorted = Float64Array.from(before).sort();
  const lower = after.reduce((sum, ohms) => sum + shareAbove(sorted, ohms), 0) / after.length;
  return Math.abs(2 * lower - 1);
}

function shareAbove(sorted: Float64Array, value: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! > value) high = middle;
    else low = middle + 1;
  }
  return (sorted.length - low) / sorted.length;
}

/**
 * The fault is hardly believed any more, and the load has what the repair was forecast to give, the battery's own
 * volts allowed for. Null where nothing was forecast or the load was not read again.
 */
function repairHeld(before: RoundDiagnosis, after: RoundDiagnosis): boolean | null {
  const fault = before.findings[0];
  const forecast = fault?.afterRepair.loadVolts ?? null;
  const offKeyed = ({ states }: RoundDiagnosis) =>
    states.find(({ engine, radio }) => engine === "off" && radio === "transmit");
  const now = offKeyed(after);
  if (before.verdict !== "fault" || fault === undefined || !now?.loadVolts || forecast === null) return null;
  const still = after.findings
    .filter(
      ({ cause, parts }) =>
        cause === fault.cause && (parts.length === 0 || parts.some((id) => fault.parts.includes(id))),
    )
    .reduce((sum, { probability }) => sum + probability, 0);
  const shift = batteryShift(offKeyed(before)?.batteryVolts ?? null, now.batteryVolts);
  const low = forecast.low + shift - 2 * now.loadVolts.uncertainty;
  return still < mendedProbability && now.loadVolts.value >= low;
}

/** How much higher the battery stood the second time, where both are known. */
const batteryShift = (before: Q, after: Q): number =>
  before === null || after === null ? 0 : after.value - before.value;
