/** Finds the check that frames carry, by trying each kind at each likely place: all sound frames must come to the same constant. */
import { type Check, crc8Polynomials, crc16Polynomials, remainder } from "./checksum.ts";

type Template = Omit<Check, "constant">;

/** Share of the frames that a check must hold for: some may have been damaged on their way. */
const soundShare = 0.85;
/** The same where so many contents came more than once, and it holds for those. */
const leastShare = 0.6;
const manyRepeated = 12;
/** Fewer different frames than this prove nothing. */
const fewestFrames = 6;

/**
 * @param frames of one kind, lengths may differ
 * @returns the check that most frames pass, simplest first; null where none does
 */
export function findCheck(frames: readonly Uint8Array[], text: boolean): Check | null {
  const { different, repeated } = differentFrames(frames);
  if (different.length < fewestFrames) return null;
  const shortest = Math.min(...different.map((frame) => frame.length));
  let best: { check: Check; count: number } | null = null;
  for (const template of templates(shortest, text)) {
    const found = agreed(template, different, repeated);
    if (!found || !tested(template, found.constant, different)) continue;
    // The widest check is proposed first; one that holds more often must do so by enough to be nearer the truth.
    if (!best || found.count >= best.count + margin(template, best.check, different.length))
      best = { check: { ...template, constant: found.constant }, count: found.count };
    if (best.count === different.length) break;
  }
  return best?.check ?? null;
}

/** A check that covers less lets harmed frames pass, and holds a little more often for it. */
const clearlyMore = 0.06;
/** One that covers as much lets hardly any pass: two frames that hold for it alone are no chance. */
const fewMore = 2;

const margin = (one: Template, best: Check, frames: number): number =>
  one.from <= best.from && one.uncovered <= best.uncovered ? fewMore : clearlyMore * frames;

/** So many tell a check from chance, taken from the whole recording. */
const mostFrames = 60;

function spread<T>(list: readonly T[], count: number): T[] {
  return list.length <= count
    ? [...list]
    : Array.from({ length: count }, (_, i) => list[Math.floor((i * list.length) / count)]!);
}

/**
 * Frames of different content, those that came more than once before the others: a meter that rests repeats itself, and what
 * was harmed on its way comes once. Of few contents many may be harmed.
 */
function differentFrames(frames: readonly Uint8Array[]): { different: Uint8Array[]; repeated: number } {
  const seen = new Map<string, { frame: Uint8Array; times: number }>();
  for (const frame of frames) {
    const content = frame.join();
    seen.set(content, { frame, times: (seen.get(content)?.times ?? 0) + 1 });
  }
  const all = spread([...seen.values()], mostFrames);
  const often = all.filter(({ times }) => times > 1);
  const once = all.filter(({ times }) => times === 1);
  return { different: [...often, ...once].map(({ frame }) => frame), repeated: often.length };
}

function* templates(shortest: number, text: boolean): Generator<Template> {
  const tails = text ? [0] : [0, 1, 2];
  for (const tail of tails) {
    for (const from of [0, 1, 2, 3, 4, 5]) {
      if (text) yield* written(from);
      if (shortest >= from + tail + 4) yield* twoBytes(from, tail);
      if (shortest >= from + tail + 3) yield* oneByte(from, tail);
    }
  }
}

function* written(from: number): Generator<Template> {
  for (const gap of [0, 1]) {
    for (const kind of ["xor", "sum"] as const) {
      for (const negative of kind === "sum" ? [false, true] : [false]) {
        yield { kind, bits: 8, from, uncovered: 2 + gap, back: 2, order: "big", written: "hexadecimal", negative };
      }
    }
    for (const template of crcs(from, 16)) yield { ...template, uncovered: 4 + gap, back: 4, written: "hexadecimal" };
    for (const template of crcs(from, 8)) yield { ...template, uncovered: 2 + gap, back: 2, written: "hexadecimal" };
  }
}

function* oneByte(from: number, tail: number): Generator<Template> {
  const place = { from, uncovered: 1 + tail, back: 1 + tail, order: "big" as const, bits: 8 as const };
  yield { kind: "sum", ...place };
  yield { kind: "sum", negative: true, ...place };
  yield { kind: "xor", ...place };
  for (const template of crcs(from, 8)) yield { ...template, ...place };
}

function* twoBytes(from: number, tail: number): Generator<Template> {
  for (const order of ["little", "big"] as const) {
    const place = { from, uncovered: 2 + tail, back: 2 + tail, order, bits: 16 as const };
    for (const template of crcs(from, 16)) yield { ...template, ...place };
    yield { kind: "sum", ...place };
    yield { kind: "sum", negative: true, ...place };
    yield { kind: "fletcher", ...place };
  }
}

function* crcs(from: number, bits: 8 | 16): Generator<Template> {
  for (const polynomial of bits === 8 ? crc8Polynomials : crc16Polynomials) {
    for (const reflected of [true, false]) {
      // The start value drops into the constant unless lengths differ; then one of the two usual ones must hold.
      for (const start of [0, bits === 8 ? 0xff : 0xffff]) {
        yield {
          kind: "crc",
          bits,
          from,
          uncovered: bits / 8,
          back: bits / 8,
          order: "big",
          polynomial,
          reflected,
          start,
        };
      }
    }
  }
}

/**
 * What is checked must itself come in different contents, most of which agree: a few bytes that hardly change, or one
 * content that nearly all frames have, come right with some check or other.
 */
function tested(template: Template, constant: number, frames: readonly Uint8Array[]): boolean {
  const agreeing = new Map<string, boolean>();
  for (const frame of frames) {
    const content = frame.subarray(template.from, frame.length - template.uncovered).join();
    agreeing.set(content, agreeing.get(content) || remainder(template, frame) === constant);
  }
  const good = [...agreeing.values()].filter(Boolean).length;
  return good >= fewestFrames && good >= 0.6 * agreeing.size;
}

/** The constant that nearly all frames share, null where they do not. A check must move with the frames, not stand still. */
function agreed(
  template: Template,
  frames: readonly Uint8Array[],
  repeated: number,
): { constant: number; count: number } | null {
  const counts = new Map<number, number>();
  const said = new Set<number>();
  for (const [i, frame] of frames.entries()) {
    const value = remainder(template, frame);
    if (Number.isNaN(value)) {
      counts.set(-1, (counts.get(-1) ?? 0) + 1);
    } else counts.set(value, (counts.get(value) ?? 0) + 1);
    said.add(frame[frame.length - template.back + (template.written || template.bits === 16 ? 1 : 0)]!);
    if (i === 7 && Math.max(...counts.values()) < 6) return null;
  }
  const [constant, count] = [...counts].sort((a, b) => b[1] - a[1])[0]!;
  const holding = () => frames.slice(0, repeated).filter((frame) => remainder(template, frame) === constant).length;
  const sound =
    count >= soundShare * frames.length ||
    (repeated >= manyRepeated && count >= leastShare * frames.length && holding() >= soundShare * repeated);
  if (constant < 0 || !sound) return null;
  return said.size >= Math.min(4, frames.length / 2) ? { constant, count } : null;
}
