/**
 * The way round the loop: which parts stand between two points, and which way the current passes them.
 */
import type { Job, LoadPart, LoopItem, Part, Point } from "./job-schema.ts";

export const isPoint = (item: LoopItem): item is Point => "point" in item;
export const isLoad = (item: LoopItem): item is LoadPart => "part" in item && item.part === "load";
export const isPart = (item: LoopItem): item is Part => "part" in item && item.part !== "load";

/** The parts of the loop in order, the load aside. */
export const partsOf = (job: Pick<Job, "loop">): Part[] => job.loop.filter(isPart);

/** The points of the loop in order, battery+ first. */
export const pointsOf = (job: Pick<Job, "loop">): string[] => job.loop.filter(isPoint).map((item) => item.point);

export interface Route {
  /** parts passed, in the order of the loop, the load aside */
  readonly parts: readonly Part[];
  /** whether the load stands between the two points */
  readonly throughLoad: boolean;
  /** 1 when `from` stands before `to` the way the current flows (a drop reads positive), −1 when after it */
  readonly sign: 1 | -1;
}

/**
 * What stands between two probes. A voltage V(from) − V(to) is `sign` times the sum of the drops of these parts,
 * the load's own volts among them where `throughLoad`.
 * @throws {RangeError} when a name is no point of the loop; a checked job names only points it has
 */
export function routeBetween(job: Pick<Job, "loop">, from: string, to: string): Route {
  const start = pointIndex(job, from);
  const end = pointIndex(job, to);
  const between = job.loop.slice(Math.min(start, end), Math.max(start, end));
  return { parts: between.filter(isPart), throughLoad: between.some(isLoad), sign: start <= end ? 1 : -1 };
}

function pointIndex(job: Pick<Job, "loop">, name: string): number {
  const index = job.loop.findIndex((item) => isPoint(item) && item.point === name);
  if (index < 0) throw new RangeError(`routeBetween: '${name}' should be a point of the loop`);
  return index;
}

/** The leg a part stands in: supply before the load, return after it. */
export function legOf(job: Pick<Job, "loop">, id: string): "supply" | "return" {
  const load = job.loop.findIndex(isLoad);
  return job.loop.findIndex((item) => isPart(item) && item.id === id) < load ? "supply" : "return";
}
