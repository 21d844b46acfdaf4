/**
 * Trouble that is newer than a round: a fault that was not there, or a sound part that has got worse, with its probability.
 */
import { candidatesOf } from "../finding/candidate.ts";
import { list, partWords } from "../finding/place-words.ts";
import type { Fault } from "../inference/hypothesis.ts";
import type { Posterior } from "../inference/posterior.ts";
import { partsOf } from "../job/route.ts";
import { causeWords } from "../plain-words.ts";
import { percent, plainVolts } from "../round-for-print.ts";
import { type JointDraw, solvedKeyed } from "./joint-draw.ts";

/** Told from one half on, as a finding is; a part that is merely worse only where that is nearly sure. */
const likely = 0.5;
const nearlySure = 0.9;
/** A part that has got worse by less than this keyed is nobody's trouble. */
const noticedVolts = 0.02;

/**
 * @param since label of the earlier round
 * @returns one sentence each, for the later round's warnings
 */
export function newTrouble(since: string, after: Posterior, draws: readonly JointDraw[]): string[] {
  const faults = candidatesOf(after).filter(({ beliefs }) =>
    beliefs.some(({ hypothesis }) => hypothesis.faults.length > 0),
  );
  const parts = partsOf(after.setting.job);
  const told = new Set<number>();
  const fresh = faults.flatMap(({ cause, parts: at, matches }) => {
    const has = ({ hypothesis }: JointDraw["belief"]["before"]) =>
      hypothesis.faults.some((fault: Fault) => matches(fault));
    const share = shareOf(draws, ({ belief }) => has(belief.after) && !has(belief.before));
    if (share < likely) return [];
    for (const part of at) told.add(part);
    const where = at.length > 0 ? ` at ${list(at.map((part) => partWords(parts[part]!)))}` : "";
    return [`newer than '${since}': ${causeWords[cause]}${where} (${percent(share)} sure)`];
  });
  const worse = parts.flatMap((part, index) => {
    if (told.has(index)) return [];
    const more = draws.map((draw) => moreVolts(draw, index));
    const share = more.filter((volts) => volts > noticedVolts).length / draws.length;
    if (share < nearlySure) return [];
    const mean = more.reduce((sum, volts) => sum + volts, 0) / more.length;
    return [`${partWords(part)} is worse than in '${since}' by ${plainVolts(mean)} keyed (${percent(share)} sure)`];
  });
  return [...fresh, ...worse];
}

/** What a part that has changed drops more at today's current; 0 where this draw takes it to be as it was. */
function moreVolts(draw: JointDraw, part: number): number {
  const { partAmps } = solvedKeyed(draw.after, "off");
  return (draw.after.ohms[part]! - draw.before.ohms[part]!) * partAmps[part]!;
}

const shareOf = (draws: readonly JointDraw[], test: (draw: JointDraw) => boolean): number =>
  draws.filter(test).length / draws.length;
