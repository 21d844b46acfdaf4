/**
 * Rounds: all that was measured with the wiring as it then was, and the wiring as it was in a round.
 */
import type { Job, LoopItem } from "./job-schema.ts";
import { isPoint } from "./route.ts";

/** Rounds in the order in which they first appear: recordings first, then typed readings (`formats.md` section 1). */
export function roundsOf(job: Pick<Job, "recordings" | "readings">): string[] {
  return [...new Set([...job.recordings, ...job.readings].map(({ round }) => round))];
}

/**
 * Measured rounds in their order, and between them those of `rounds` that nothing was measured in:
 * each stands before the measured round that the job lists next.
 */
export function allRounds(job: Job): string[] {
  const order = roundsOf(job);
  for (const { round } of [...job.rounds].reverse()) {
    if (order.includes(round)) continue;
    const listed = job.rounds.findIndex((entry) => entry.round === round);
    const next = job.rounds.slice(listed + 1).find((entry) => order.includes(entry.round));
    order.splice(next ? order.indexOf(next.round) : order.length, 0, round);
  }
  return order;
}

/** The rounds up to and with this one; none where the job does not know it. */
export function roundsUpTo(job: Job, round: string): string[] {
  const order = allRounds(job);
  return order.slice(0, order.indexOf(round) + 1);
}

/**
 * The job as its wiring was in a round: what was changed before it, and before every round up to it, is applied to the parts.
 * @param round a round of the job, measured or listed; another name gets the wiring as first declared
 * @example a job whose round 'after' has changed [{ id: 'feed', awg: 8 }]
 * // jobInRound(job, 'before') is the job; jobInRound(job, 'after') has a feed of 8 AWG
 */
export function jobInRound(job: Job, round: string): Job {
  const changes = roundsUpTo(job, round)
    .flatMap((name) => job.rounds.filter((entry) => entry.round === name))
    .flatMap((entry) => entry.changed ?? []);
  if (changes.length === 0) return job;
  const loop = job.loop.map((item) =>
    isPoint(item) || item.id === undefined
      ? item
      : changes.filter(({ id }) => id === item.id).reduce<LoopItem>((now, change) => changedItem(now, change), item),
  );
  return { ...job, loop };
}

/** Ids of the parts that were changed after one round was measured and before or in a later one. */
export function partsChanged(job: Job, after: string, upTo: string): string[] {
  const order = allRounds(job);
  const between = order.slice(order.indexOf(after) + 1, order.indexOf(upTo) + 1);
  return job.rounds
    .filter(({ round }) => between.includes(round))
    .flatMap(({ changed }) => (changed ?? []).map(({ id }) => id));
}

const sizeFields = ["awg", "squareMillimetres"];
/** What a part's expected ohms follow from: once one of them is changed, ohms written down for the old part no longer hold. */
const ohmsFollowFrom = ["part", "style", "metres", "material", "ratingAmps", "gaugeSystem", ...sizeFields];

/** The item with the changed fields in place, and without those that spoke of what is no longer there. */
export function changedItem(item: LoopItem, change: Readonly<Record<string, unknown>>): LoopItem {
  const now: Record<string, unknown> = { ...item, ...change };
  const changes = (field: string) => Object.hasOwn(change, field);
  if (sizeFields.some(changes)) for (const field of sizeFields) if (!changes(field)) delete now[field];
  if (ohmsFollowFrom.some(changes) && !changes("ohms")) {
    delete now.ohms;
    delete now.ohmsTolerance;
  }
  if (Array.isArray(now.unknown) && !changes("unknown")) {
    now.unknown = now.unknown.filter((what) => (what === "size" ? !sizeFields.some(changes) : !changes("metres")));
  }
  return now as LoopItem;
}
