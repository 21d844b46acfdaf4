/** Frames that say their own length: a start mark, and a byte some way behind it. */
import type { Stream } from "./byte-stream.ts";
import type { Frame, Framing } from "./framing.ts";
import type { FramingProposal } from "./framing-search.ts";

const longestFrame = 96;

/** Start marks of one to three bytes: what stands first after pauses, else what stands often. */
function startMarks(stream: Stream): number[][] {
  const marks = new Map<string, number>();
  const places = stream.pauseSeconds !== null ? stream.burstStarts : [...stream.bytes.keys()];
  for (const at of places) {
    for (const size of [1, 2]) {
      const key = stream.bytes.subarray(at, at + size).join(",");
      marks.set(key, (marks.get(key) ?? 0) + 1);
    }
  }
  const often = [...marks].filter(([, count]) => count >= 4).sort((a, b) => b[1] - a[1] || b[0].length - a[0].length);
  return often.slice(0, 24).map(([key]) => key.split(",").map(Number));
}

export function proposeCounted(stream: Stream): FramingProposal[] {
  const found: (FramingProposal & { covered: number })[] = [];
  for (const start of startMarks(stream)) {
    for (let lengthAt = start.length; lengthAt <= start.length + 4; lengthAt++) {
      for (let add = 0; add <= 9; add++) {
        const chain = countedChain(stream, start, lengthAt, add + (add > 0 ? lengthAt - start.length : 0));
        if (chain) found.push(chain);
      }
    }
  }
  found.sort((a, b) => b.covered - a.covered || a.cost - b.cost);
  return found.slice(0, 2);
}

function countedChain(stream: Stream, start: readonly number[], lengthAt: number, add: number) {
  const { bytes } = stream;
  const begins = (at: number) => start.every((byte, i) => bytes[at + i] === byte);
  const frames: Frame[] = [];
  const lengths = new Set<number>();
  let covered = 0;
  let tried = 0;
  for (let at = 0; at + lengthAt < bytes.length; ) {
    const length = bytes[at + lengthAt]! + add;
    const end = at + length;
    const whole = begins(at) && length > lengthAt && length <= longestFrame && (end >= bytes.length - 3 || begins(end));
    if (!whole || end > bytes.length) {
      at++;
      if (++tried > 600 && covered < 0.3 * at) return null;
      continue;
    }
    frames.push({ seconds: stream.seconds[end - 1]!, bytes: bytes.slice(at, end) });
    lengths.add(length);
    covered += length;
    at = end;
  }
  if (covered < 0.88 * bytes.length || lengths.size < 2 || frames.length < 6) return null;
  const longest = Math.max(...lengths);
  const framing: Framing = { kind: "counted", start: [...start], lengthAt, add, longest };
  return {
    framing,
    frames,
    cost: 3 - 0.3 * start.length + (start[0] === 0 ? 3 : 0),
    text: false,
    covered: covered / bytes.length,
  };
}
