/**
 * The verdict of a round (`formats.md` section 2): whether something is wrong, and whether it matters.
 */
import type { Cause, RoundDiagnosis, Verdict } from "../diagnosis.ts";
import type { Part } from "../job/job.ts";
import { partsOf } from "../job/route.ts";
import { dropLimitVolts } from "../loop/expected-drop.ts";
import type { Candidate } from "./candidate.ts";
import { type DrawnBelief, keyedCondition } from "./figures.ts";

/** What the trade allows one part to drop at transmit (`voltage-limits.md` section 1; common practice). */
export const tradeLimitVolts: Readonly<Record<Part["part"], number>> = {
  connection: 0.1,
  fuse: 0.1,
  wire: 0.2,
  switch: 0.3,
  chassis: 0.1,
};

/** Causes that matter as soon as they are likelier than not: of the source, of the load, of what may open at any time. */
const alwaysMatter: readonly Cause[] = [
  "intermittent-connection",
  "stray-return",
  "undersized-run",
  "weak-battery",
  "low-charge",
  "no-charging",
  "overcharging",
  "excess-load-current",
];

/** Causes that a keyed reading beyond the battery must have borne upon. */
const loopCauses: readonly Cause[] = ["supply-sound", "high-resistance-connection", "conductor-not-as-declared"];

function loopRead({ posterior }: DrawnBelief): boolean {
  return posterior.setting.prepared.some(({ reading: { radio, drawnBy, place } }) => {
    const loaded = radio === "transmit" || drawnBy === "test-load";
    return loaded && place.quantity === "volts" && !(place.from === "battery+" && place.to === "battery-");
  });
}

export function verdictOf(
  drawn: DrawnBelief,
  candidates: readonly Candidate[],
  worst: RoundDiagnosis["worstCase"],
): Verdict {
  const cause = likelyCause(candidates);
  if (cause === null || (loopCauses.includes(cause) && !loopRead(drawn))) return "undecided";
  if (cause === "supply-sound") return worst.marginVolts !== null && worst.marginVolts.value < 0 ? "marginal" : "sound";
  return alwaysMatter.includes(cause) || matters(drawn, cause, candidates) ? "fault" : "marginal";
}

/** The cause likelier than not, its places taken together; two faults at once can both be: the likelier one. */
function likelyCause(candidates: readonly Candidate[]): Cause | null {
  const totals = new Map<Cause, Set<Candidate["beliefs"][number]>>();
  for (const { cause, beliefs } of candidates) totals.set(cause, new Set([...(totals.get(cause) ?? []), ...beliefs]));
  const probability = (cause: Cause): number => {
    const single = candidates.filter((candidate) => candidate.cause === cause);
    if (cause === "supply-sound" || cause === "undersized-run") return single[0]!.probability;
    return [...totals.get(cause)!].reduce((sum, belief) => sum + belief.probability, 0);
  };
  const [best] = [...totals.keys()].toSorted((a, b) => probability(b) - probability(a));
  return best !== undefined && probability(best) > 0.5 ? best : null;
}

/** More likely than not, the total is over its limit, the load under its minimum, or a part over what the trade allows it. */
function matters(drawn: DrawnBelief, cause: Cause, candidates: readonly Candidate[]): boolean {
  const { job } = drawn.posterior.setting;
  const condition = keyedCondition(drawn);
  const parts = partsOf(job);
  const suspects = new Set(
    candidates.filter((candidate) => candidate.cause === cause).flatMap((candidate) => candidate.parts),
  );
  const limitVolts = dropLimitVolts(job);
  const bad = drawn.after.filter((draw) => {
    const solution = drawn.solved(draw, condition);
    const total = solution.partDropVolts.reduce((sum, drop) => sum + drop, 0);
    return (
      total > limitVolts ||
      solution.loadVolts < (job.load.minimumVolts ?? 0) ||
      [...suspects].some((part) => solution.partDropVolts[part]! > tradeLimitVolts[parts[part]!.part])
    );
  });
  return bad.length > drawn.after.length / 2;
}
