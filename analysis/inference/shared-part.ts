/**
 * The parts between the battery and a bus: what other loads on that bus draw passes them too.
 */
import type { Job } from "../job/job.ts";
import { isPart, isPoint, legOf, partsOf } from "../job/route.ts";

/**
 * A second fuse in the supply leg means a branch: what stands before it is shared. In the return leg, what stands behind
 * the item that is named for a bus; where none is, behind the first of several wires.
 * @returns indices among the parts; empty where the loop has no branch
 * @example battery+ … main-fuse, main-feed, bus-lug, branch-fuse, feed … return, bus-screw, main-return … battery-
 * // main-fuse to bus-lug, and bus-screw to the end
 */
export function sharedParts(job: Job): number[] {
  const parts = partsOf(job);
  const fuses = parts.flatMap((part, index) =>
    part.part === "fuse" && legOf(job, part.id) === "supply" ? [index] : [],
  );
  if (fuses.length < 2) return [];
  const before = Array.from({ length: fuses[1]! }, (_, index) => index);
  const start = returnStart(job);
  return [...before, ...parts.flatMap((_, index) => (index >= start ? [index] : []))];
}

function returnStart(job: Job): number {
  const parts = partsOf(job);
  const load = parts.findIndex((part) => legOf(job, part.id) === "return");
  if (load < 0) return parts.length;
  const items = job.loop.slice(job.loop.findIndex((item) => isPart(item) && item.id === parts[load]!.id));
  const named = items.findIndex((item) => /\bbus|bus\b/i.test(isPoint(item) ? item.point : (item.id ?? "")));
  if (named >= 0) return load + items.slice(0, named).filter(isPart).length;
  const wires = parts.flatMap((part, index) => (index >= load && part.part === "wire" ? [index] : []));
  return wires.length > 1 ? wires[0]! + 1 : parts.length;
}
