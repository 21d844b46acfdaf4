/**
 * The edges that a group of logs on one clock shows together: one event seen by several logs is one edge.
 */
import type { Seconds, Volts } from "../units.ts";
import type { EdgeTrain } from "./clock-match.ts";
import type { ClockEdge } from "./edge-train.ts";
import type { ClockedLog } from "./stretch.ts";

/** Edges of one log by the group's clock, and when the log began and ended by it. */
export interface GroupedTrain {
  readonly edges: readonly ClockEdge[];
  readonly begin: Seconds;
  readonly end: Seconds;
  readonly intervalSeconds: Seconds;
}

export function onGroupClock(train: EdgeTrain, { startSeconds, rate, uncertaintySeconds }: ClockedLog): GroupedTrain {
  return {
    edges: train.edges.map((edge) => ({
      ...edge,
      seconds: startSeconds + edge.seconds * rate,
      uncertainty: Math.hypot(edge.uncertainty, uncertaintySeconds),
    })),
    begin: startSeconds,
    end: startSeconds + train.seconds * rate,
    intervalSeconds: train.intervalSeconds,
  };
}

/**
 * One train for a group. From three logs on, an edge counts when two of them show it, or when it is the engine's.
 * @returns the train counted from `begin`, the group second at which its first log began
 */
export function mergeTrains(trains: readonly GroupedTrain[]): { train: EdgeTrain; begin: Seconds } {
  const begin = Math.min(...trains.map((train) => train.begin));
  const end = Math.max(...trains.map((train) => train.end));
  const intervalSeconds = Math.min(...trains.map((train) => train.intervalSeconds));
  const all = trains.flatMap((train, log) => train.edges.map((edge) => ({ edge, log })));
  all.sort((a, b) => a.edge.seconds - b.edge.seconds);
  const merged: { edge: ClockEdge; logs: Set<number> }[] = [];
  for (const { edge, log } of all) {
    const last = merged[merged.length - 1];
    const near =
      last !== undefined && edge.seconds - last.edge.seconds < 3 * Math.hypot(edge.uncertainty, last.edge.uncertainty);
    if (near && !last.logs.has(log)) {
      last.logs.add(log);
      const supplyStep = last.edge.supplyStep ?? edge.supplyStep;
      const finest = edge.uncertainty < last.edge.uncertainty ? edge : last.edge;
      const keying = edge.keying || last.edge.keying;
      last.edge = { ...finest, kind: Math.max(edge.kind, last.edge.kind), keying, supplyStep };
    } else merged.push({ edge, logs: new Set([log]) });
  }
  const needed = trains.length >= 3 ? 2 : 1;
  const kept = merged
    .filter(({ edge, logs }) => logs.size >= needed || isSupplyChange(edge))
    .map(({ edge }) => ({ ...edge, seconds: edge.seconds - begin }));
  return { train: { edges: kept, seconds: end - begin, intervalSeconds }, begin };
}

/** Charging that begins or ends moves battery and load by half a volt and more: common practice. */
export const leastSupplyStep: Volts = 0.4;

/** A crank, or charging that begins or ends: seen by volts logs only, and too large to be chance. */
export const isSupplyChange = ({ kind, supplyStep }: ClockEdge): boolean =>
  kind === 2 || Math.abs(supplyStep ?? 0) > leastSupplyStep;
