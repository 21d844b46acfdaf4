/**
 * The potential profile as lines and words for paper: black and grey alone, so that a photocopy still tells
 * before (grey, dashed) from now (black, thick) and the expected band (light grey) from both.
 */
import type { Diagnosis, Q } from "../diagnosis.ts";
import type { Job } from "../job/job.ts";
import { jobInRound } from "../job/round.ts";
import { expectedDropVolts } from "../loop/expected-drop.ts";
import { expectedParts } from "../loop/expected-part.ts";
import {
  BrokenVolts,
  keyedState,
  type Level,
  measuredDrops,
  type Slot,
  type Staircase,
  slotsOf,
  spanOf,
  staircase,
} from "./profile-shape.ts";
import { partName, words } from "./record-words.ts";

/** x to the right, y down, in points of 1/72 inch from the picture's upper left corner. */
export type Mark =
  | {
      readonly kind: "line";
      readonly points: readonly (readonly [number, number])[];
      readonly width: number;
      /** 0 black, 1 white */
      readonly grey: number;
      readonly dashed: boolean;
    }
  | {
      readonly kind: "box";
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
      readonly grey: number;
    }
  | {
      readonly kind: "text";
      readonly x: number;
      readonly y: number;
      readonly text: string;
      readonly size: number;
      /** upright text runs upwards and ends at its place */
      readonly stands: "after" | "before" | "upright";
    };

export interface ProfilePicture {
  readonly width: number;
  readonly height: number;
  readonly marks: readonly Mark[];
}

const width = 495;
const axis = 36;
const key = 16;
const plot = 170;

/** Where each slot begins and ends: points are boundaries, parts and the set share the width evenly. */
function places(slots: readonly Slot[]): { start: number; end: number }[] {
  const wide = slots.filter(({ kind }) => kind !== "point").length;
  const each = (width - axis) / Math.max(1, wide);
  let at = axis;
  return slots.map(({ kind }) => {
    const start = at;
    if (kind !== "point") at += each;
    return { start, end: at };
  });
}

export function profilePicture(job: Job, { rounds }: Diagnosis): ProfilePicture {
  const slots = slotsOf(job);
  const spans = places(slots);
  const first = rounds[0];
  const last = rounds.at(-1);
  const stairs = (drops: ReadonlyMap<string, Q>) => staircase(slots, (id) => drops.get(id) ?? null);
  const now = last ? stairs(measuredDrops(last)) : null;
  const before = first && first !== last ? stairs(measuredDrops(first)) : null;
  const expected = stairs(expectedDrops(job, last?.round, (last && keyedState(last)?.amps?.value) ?? undefined));
  const volts = new BrokenVolts(spanOf([expected, now, before].filter((stair) => stair !== null)));
  const names = namesHeight(job, slots);
  const y = (level: number, leg: Level["leg"]) => key + (volts.place(level, leg) / volts.length) * plot;
  return {
    width,
    height: key + plot + names,
    marks: [
      ...gridMarks(volts),
      ...bandMarks(expected, spans, y),
      ...(before ? stairMarks(before, spans, y, { width: 1.2, grey: 0.45, dashed: true }) : []),
      ...(now ? stairMarks(now, spans, y, { width: 2, grey: 0, dashed: false }) : []),
      ...nameMarks(job, slots, spans),
      ...keyMarks(first?.round, last?.round),
    ].map(rounded),
  };
}

/**
 * To a hundredth of a point: the last bit of a logarithm is not the same in every engine, and a record made in one
 * is made again, byte for byte, in another.
 */
function rounded(mark: Mark): Mark {
  if (mark.kind === "line") return { ...mark, points: mark.points.map(([x, y]) => [hundredth(x), hundredth(y)]) };
  if (mark.kind === "text") return { ...mark, x: hundredth(mark.x), y: hundredth(mark.y) };
  const { x, y, width, height } = mark;
  return { ...mark, x: hundredth(x), y: hundredth(y), width: hundredth(width), height: hundredth(height) };
}

const hundredth = (value: number) => Math.round(value * 100) / 100;

/** What sound parts would take, at the current measured last, or the declared one. */
function expectedDrops(job: Job, round: string | undefined, amps: number | undefined): Map<string, Q> {
  const declared = round === undefined ? job : jobInRound(job, round);
  const current = amps ?? job.load.transmitAmps;
  if (current === undefined) return new Map();
  return new Map(expectedParts(declared).map((part) => [part.id, expectedDropVolts([part], current)]));
}

type Spans = readonly { readonly start: number; readonly end: number }[];
type ToY = (volts: number, leg: Level["leg"]) => number;

function gridMarks(volts: BrokenVolts): Mark[] {
  return volts.ticks().flatMap(({ value, label }): Mark[] => {
    const y = key + (value / volts.length) * plot;
    return [
      {
        kind: "line",
        points: [
          [axis, y],
          [width, y],
        ],
        width: 0.3,
        grey: 0.75,
        dashed: false,
      },
      { kind: "text", x: axis - 4, y: y + 2.5, text: `${label} V`, size: 7, stands: "before" },
    ];
  });
}

/** Neighbouring boundaries: between them lies the slot that the later one names. */
const steps = (levels: readonly Level[]) => levels.slice(1).map((level, index) => [levels[index]!, level] as const);

function bandMarks(stair: Staircase, spans: Spans, y: ToY): Mark[] {
  return [...steps(stair.supply), ...steps(stair.return)].flatMap(([from, to]): Mark[] => {
    const { start, end } = spans[to.slot]!;
    if (end === start) return [];
    const top = Math.min(y(from.high, from.leg), y(to.high, to.leg));
    const bottom = Math.max(y(from.low, from.leg), y(to.low, to.leg));
    return [{ kind: "box", x: start, y: top, width: end - start, height: Math.max(1, bottom - top), grey: 0.86 }];
  });
}

function stairMarks(
  stair: Staircase,
  spans: Spans,
  y: ToY,
  pen: { width: number; grey: number; dashed: boolean },
): Mark[] {
  return (["supply", "return"] as const).map((leg): Mark => {
    const points: [number, number][] = [];
    for (const [from, to] of steps(stair[leg])) {
      const { start, end } = spans[to.slot]!;
      points.push([start, y(from.volts, leg)], [end, y(to.volts, leg)]);
    }
    return { kind: "line", points, ...pen };
  });
}

/** Room for the longest upright name, at a generous half of its size a letter. */
const namesHeight = (job: Job, slots: readonly Slot[]): number =>
  10 + Math.max(3, ...slots.map(({ kind, id }) => (kind === "part" ? nameOf(job, id).length : 0))) * nameSize * 0.55;

const nameSize = 7;
const longestName = 24;

function nameOf(job: Job, id: string): string {
  const name = partName(job, id);
  return name.length > longestName ? `${name.slice(0, longestName - 1)}…` : name;
}

function nameMarks(job: Job, slots: readonly Slot[], spans: Spans): Mark[] {
  const wide = slots.filter(({ kind }) => kind !== "point").length;
  const each = (width - axis) / Math.max(1, wide);
  const size = Math.min(nameSize, each);
  const top = key + plot;
  return slots.flatMap(({ kind, id }, index): Mark[] => {
    const { start, end } = spans[index]!;
    if (kind === "point") {
      const post = id === "battery+" || id === "battery-";
      const line: Mark = {
        kind: "line",
        points: [
          [start, key],
          [start, top],
        ],
        width: 0.3,
        grey: 0.88,
        dashed: false,
      };
      return post ? [] : [line];
    }
    const text = kind === "load" ? words.set : nameOf(job, id);
    return [{ kind: "text", x: (start + end) / 2 + size / 3, y: top + 4, text, size, stands: "upright" }];
  });
}

function keyMarks(first: string | undefined, last: string | undefined): Mark[] {
  const entries = [
    { name: words.expected, grey: 0.86, width: 6, dashed: false },
    ...(first !== undefined && first !== last ? [{ name: first, grey: 0.45, width: 1.2, dashed: true }] : []),
    ...(last === undefined ? [] : [{ name: last, grey: 0, width: 2, dashed: false }]),
  ];
  return entries.flatMap(({ name, ...pen }, index): Mark[] => {
    const x = axis + index * 150;
    const text = name.length > 24 ? `${name.slice(0, 23)}…` : name;
    return [
      {
        kind: "line",
        points: [
          [x, 5],
          [x + 22, 5],
        ],
        ...pen,
      },
      { kind: "text", x: x + 27, y: 7.5, text, size: 7, stands: "after" },
    ];
  });
}
