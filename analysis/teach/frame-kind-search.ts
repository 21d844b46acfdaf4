/**
 * Sorts the frames of a proposed cut into kinds (by length, and by a byte that takes turns) and learns what is always the
 * same in each: its fixed bits and its check. One kind will carry the reading, the others stand between.
 */
import { findCheck } from "./check-search.ts";
import { type Check, hexadecimalFigure, holds } from "./checksum.ts";
import { partVisitors, visitorKind } from "./frame-visitors.ts";
import type { Frame, FrameKind, Framing } from "./framing.ts";
import type { FramingProposal } from "./framing-search.ts";
import { fromHexadecimal } from "./recipe.ts";

export interface KindProposal {
  readonly framing: Framing;
  readonly kind: FrameKind;
  /** kinds of frame beside this one */
  readonly others: readonly FrameKind[];
  /** sound frames, hexadecimal figures already put together */
  readonly frames: readonly Uint8Array[];
  readonly seconds: Float64Array;
  /** nats */
  readonly cost: number;
  readonly text: boolean;
  /** share of the bytes that belong to no frame */
  readonly strayShare: number;
}

interface Group {
  readonly frames: readonly Frame[];
  readonly length?: number;
  readonly atLeast?: number;
  readonly cost: number;
}

export function proposeKinds(proposal: FramingProposal): KindProposal[] {
  return proposal.text ? textKinds(proposal) : binaryKinds(proposal);
}

function textKinds(proposal: FramingProposal): KindProposal[] {
  const frames = proposal.frames.filter((frame) => frame.bytes.length > 0);
  const check = findCheck(
    frames.map((frame) => frame.bytes),
    true,
  );
  const sound = check ? frames.filter((frame) => holds(check, frame.bytes)) : frames;
  const checks = check ? [check] : [];
  const steady = oneLength(sound);
  const out: KindProposal[] = [];
  const lines: FrameKind = { ...(steady ? { length: steady } : {}), fixed: [], checks };
  out.push(assemble(proposal, lines, [], sound, 0));
  const groups = byLength(sound).filter((group) => group.length! >= 3);
  for (const group of groups.slice(0, 3)) {
    const kind: FrameKind = { length: group.length!, fixed: fixedBits(group.frames, check), checks };
    const rest = group === groups[0] && groups.length === 1 ? [] : [{ fixed: [], checks }];
    const left = leftLinesCost * Math.max(0, 1 - fewLines - group.frames.length / sound.length);
    out.push({ ...assemble(proposal, kind, rest, group.frames, 2 + group.cost + left), text: false });
    const from = hexadecimalStart(group.frames);
    if (from !== null)
      out.push({
        ...assemble(proposal, { ...kind, fixed: [], hexadecimalFrom: from }, rest, group.frames, 2.5),
        text: false,
      });
  }
  return out;
}

/** Columns that hold in lines of one length alone leave the other lines unread (nats for all of them); a few are remarks. */
const leftLinesCost = 40;
const fewLines = 0.05;

function oneLength(frames: readonly Frame[]): number | null {
  const length = frames[0]?.bytes.length;
  const same = frames.filter((frame) => frame.bytes.length === length).length;
  return length !== undefined && same === frames.length ? length : null;
}

/** Where hexadecimal figures begin that go on to the end of every frame; null where they do not. */
function hexadecimalStart(frames: readonly Frame[]): number | null {
  const length = frames[0]!.bytes.length;
  const isFigure = (i: number) =>
    frames.filter((frame) => hexadecimalFigure(frame.bytes[i]!) >= 0).length > 0.97 * frames.length;
  let from = length;
  while (from > 0 && isFigure(from - 1)) from--;
  if ((length - from) % 2 === 1) from++;
  const letters = frames.some((frame) => frame.bytes.subarray(from).some((byte) => byte >= 0x41));
  return letters && length - from >= 4 ? from : null;
}

function binaryKinds(proposal: FramingProposal): KindProposal[] {
  const groups = byLength(proposal.frames);
  const parted = groups
    .filter((group) => group.frames.length >= 4)
    .map((group) => {
      const { own, visitors } = partVisitors(group.frames);
      return { group: { ...group, frames: own }, visitors };
    });
  const enough = parted.map(({ group }) => group);
  const known = enough.map((group) => ({ group, ...learn(group, proposal) }));
  const visiting = parted.flatMap(({ visitors }, i) => visitors.map((one) => visitorKind(one, known[i]!.kind.checks)));
  const out: KindProposal[] = [];
  for (const { group, kind, frames } of known) {
    const others = [...known.filter((other) => other.group !== group).map((other) => other.kind), ...visiting];
    const parts = turns(proposal, kind, others, frames, group.cost);
    out.push(assemble(proposal, kind, others, frames, group.cost + (parts.length > 0 ? 2 : 0)), ...parts);
  }
  if (enough.length > 1 && proposal.framing.kind !== "fixed") out.push(...allLengths(proposal, enough));
  return out.slice(0, 8);
}

/** Groups of one length, the commonest first; rare lengths are damage. */
function byLength(frames: readonly Frame[]): Group[] {
  const groups = new Map<number, Frame[]>();
  for (const frame of frames) {
    const list = groups.get(frame.bytes.length) ?? [];
    list.push(frame);
    groups.set(frame.bytes.length, list);
  }
  return [...groups]
    .filter(([, list]) => list.length >= 0.04 * frames.length)
    .sort((a, b) => b[1].length - a[1].length)
    .slice(0, 5)
    .map(([length, list]) => ({ length, frames: list, cost: Math.log(frames.length / list.length) }));
}

function learn(group: Group, proposal: FramingProposal): { kind: FrameKind; frames: readonly Frame[] } {
  const check = findCheck(
    group.frames.map((frame) => frame.bytes),
    false,
  );
  const frames = check ? group.frames.filter((frame) => holds(check, frame.bytes)) : group.frames;
  const fixed = fixedBits(frames, check);
  const kind: FrameKind = { length: group.length!, fixed, checks: check ? [check] : [] };
  if (check || proposal.framing.kind === "packet") return { kind, frames };
  return {
    kind,
    frames: frames.filter((frame) => fixed.every(([at, mask, value]) => (frame.bytes[at]! & mask) === value)),
  };
}

/** Frames that begin alike and differ in length: what they share is read from the start. */
function allLengths(proposal: FramingProposal, groups: readonly Group[]): KindProposal[] {
  const frames = proposal.frames.filter((frame) => groups.some((group) => group.length === frame.bytes.length));
  const shortest = Math.min(...groups.map((group) => group.length!));
  const check = findCheck(
    frames.map((frame) => frame.bytes),
    false,
  );
  const sound = check ? frames.filter((frame) => holds(check, frame.bytes)) : frames;
  if (sound.length < 6) return [];
  const fixed = fixedBits(
    sound.map((frame) => ({ ...frame, bytes: frame.bytes.subarray(0, shortest) })),
    check,
  );
  const kind: FrameKind = { atLeast: shortest, fixed, checks: check ? [check] : [] };
  return [assemble(proposal, kind, [], sound, 1.5)];
}

/** A byte that changes with nearly every frame among a few values: several kinds that take turns. */
function turns(
  proposal: FramingProposal,
  kind: FrameKind,
  others: readonly FrameKind[],
  frames: readonly Frame[],
  cost: number,
): KindProposal[] {
  const out: KindProposal[] = [];
  const length = frames[0]?.bytes.length ?? 0;
  for (let at = 0; at < Math.min(length, 8); at++) {
    const parts = partsThatTakeTurns(frames, at);
    if (!parts) continue;
    const kinds = parts.map((part) => ({ ...kind, fixed: fixedBits(part, kind.checks[0] ?? null) }));
    for (const [i, part] of parts.entries()) {
      const rest = [...others, ...kinds.filter((_, k) => k !== i)];
      out.push(assemble(proposal, kinds[i]!, rest, part, cost + Math.log(parts.length)));
    }
    break;
  }
  return out;
}

function partsThatTakeTurns(frames: readonly Frame[], at: number): Frame[][] | null {
  const parts = new Map<number, Frame[]>();
  let changes = 0;
  for (const [i, frame] of frames.entries()) {
    const value = frame.bytes[at]!;
    if (i > 0 && frames[i - 1]!.bytes[at] !== value) changes++;
    const part = parts.get(value) ?? [];
    part.push(frame);
    parts.set(value, part);
    if (parts.size > 8) return null;
  }
  const common = [...parts.values()].filter((part) => part.length > 0.08 * frames.length);
  return common.length > 1 && common.length <= 4 && changes > 0.25 * frames.length ? common : null;
}

/** Whether a byte goes up by the same step from frame to frame: its bits that stand still have only not come up yet. */
function counts(frames: readonly Frame[], at: number): boolean {
  const steps = new Map<number, number>();
  for (let i = 1; i < frames.length; i++) {
    const step = (frames[i]!.bytes[at]! - frames[i - 1]!.bytes[at]!) & 0xff;
    steps.set(step, (steps.get(step) ?? 0) + 1);
  }
  const [step, count] = [...steps].toSorted((a, b) => b[1] - a[1])[0] ?? [0, 0];
  return step !== 0 && frames.length > 8 && count > 0.8 * frames.length;
}

/**
 * Bits that never change. In a byte that else stands still, one frame alone that differs was damaged, where no check that
 * covers it has sorted damage out already.
 */
export function fixedBits(frames: readonly Frame[], check: Check | null): FrameKind["fixed"] {
  const fixed: FrameKind["fixed"] = [];
  const length = Math.min(...frames.map((frame) => frame.bytes.length));
  const counter = Array.from({ length }, (_, at) => counts(frames, at));
  for (let at = 0; at < length; at++) {
    if (counter[at]) continue;
    const covered = check !== null && at >= check.from && at < length - check.uncovered;
    const common = covered ? null : commonByte(frames, at, check === null ? seldom : lessSeldom);
    if (common !== null) {
      fixed.push([at, 0xff, common]);
      continue;
    }
    let ones = 0xff;
    let any = 0;
    for (const { bytes } of frames) {
      ones &= bytes[at]!;
      any |= bytes[at]!;
    }
    const mask = ones | (~any & 0xff);
    if (mask !== 0) fixed.push([at, mask, ones]);
  }
  return fixed;
}

/** Share of the frames that may be harmed in one byte; more where the frame is known to be one by its check. */
const seldom = 0.006;
const lessSeldom = 0.03;

/** The byte that all but a few scattered frames have here; null where it lives. */
function commonByte(frames: readonly Frame[], at: number, share: number): number | null {
  const sorted = frames.map((frame) => frame.bytes[at]!).sort((a, b) => a - b);
  const common = sorted[sorted.length >> 1]!;
  let unlike = 0;
  for (const [i, { bytes }] of frames.entries()) {
    if (bytes[at] === common) continue;
    unlike++;
    if (i > 0 && frames[i - 1]!.bytes[at] !== common) return null;
  }
  return unlike <= Math.max(1, share * frames.length) ? common : null;
}

function assemble(
  proposal: FramingProposal,
  kind: FrameKind,
  others: readonly FrameKind[],
  frames: readonly Frame[],
  cost: number,
): KindProposal {
  const views: Uint8Array[] = [];
  const seconds: number[] = [];
  for (const frame of frames) {
    const view = kind.hexadecimalFrom === undefined ? frame.bytes : fromHexadecimal(frame.bytes, kind.hexadecimalFrom);
    if (view === null) continue;
    views.push(view);
    seconds.push(frame.seconds);
  }
  return {
    framing: proposal.framing,
    kind,
    others,
    frames: views,
    seconds: Float64Array.from(seconds),
    cost: proposal.cost + cost - (kind.checks as readonly Check[]).length * 3,
    text: proposal.text,
    strayShare: 0,
  };
}
