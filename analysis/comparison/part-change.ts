/**
 * What each part's ohms did between two rounds, and how probable it is that they have changed at all.
 */
import type { PartChange, PartEntry } from "../diagnosis.ts";
import { summary } from "../finding/figures.ts";
import type { JointBelief } from "./joint-belief.ts";
import type { JointDraw } from "./joint-draw.ts";
import { sameFault } from "./same-thing.ts";

/** A part that was changed and has the same ohms within this share has not changed in what matters. */
const sameWithin = 0.05;

/**
 * Draws of both rounds together make the two columns agree where a part is the same: what a meter's gain or a length
 * nobody measured leaves open is then open in both alike.
 * @param before the earlier round's own entries; a part that either round tells nothing of has no ohms here
 */
export function partChanges(
  before: readonly PartEntry[],
  after: readonly PartEntry[],
  draws: readonly JointDraw[],
): PartChange[] {
  return after.flatMap((part, index) => {
    const was = before[index];
    if (was?.id !== part.id) return [];
    return [
      {
        id: part.id,
        ohmsBefore: was.ohms && summary(draws.map((draw) => draw.before.ohms[index]!)),
        ohmsAfter: part.ohms && summary(draws.map((draw) => draw.after.ohms[index]!)),
        changeIsReal: draws.filter((draw) => hasChanged(draw, index)).length / draws.length,
      },
    ];
  });
}

function hasChanged({ belief, before, after }: JointDraw, part: number): boolean {
  return isAnother(belief, part) && Math.abs(after.ohms[part]! / before.ohms[part]! - 1) > sameWithin;
}

/** Whether this belief takes the part to be another than it was: drawn anew, or with a fault that came, went or grew. */
function isAnother({ before, after, changes }: JointBelief, part: number): boolean {
  if (changes.parts.has(part)) return true;
  const { isWire } = after.model.setting;
  const here = ({ hypothesis }: JointBelief["before"]) =>
    hypothesis.faults.filter(
      (fault) => fault.part === part || (fault.cause === "conductor-not-as-declared" && isWire[part]),
    );
  const [was, is] = [here(before), here(after)];
  if (was.length !== is.length || !is.every((fault) => was.some((one) => sameFault(one, fault)))) return true;
  return is.length > 0 && changes.faultSizes;
}
