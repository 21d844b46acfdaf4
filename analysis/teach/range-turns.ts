/** What the stream says of a field that may choose the range, where only some of its states were typed. */
import type { Field } from "./range-search.ts";

/** A field that turns while the raw number stays as it was has no business with its range; one that turns as it jumps may. */
const stillShare = 0.05;
const turnShare = 0.25;

/** A state in which the number stands still, where it else moves, is a hold as well (nats for each frame's own chance). */
const stillWeight = 0.5;
const mostStill = 4;

/** Nats for a field being the range by how often the number jumps as it leaves the states that were typed. */
export function turnEvidence({ values }: Field, states: ReadonlySet<number>, sizes: Float64Array): number {
  let evidence = 0;
  let last = -1;
  const known = { frames: 0, moved: 0 };
  const fresh = { frames: 0, moved: 0 };
  for (let i = 0; i < values.length; i++) {
    if (!(sizes[i]! < Number.POSITIVE_INFINITY)) continue;
    if (last >= 0 && !states.has(values[i]!) && states.has(values[last]!)) {
      const change = Math.abs(sizes[i]! - sizes[last]!) / Math.max(sizes[i]!, sizes[last]!, 1);
      evidence += change > turnShare ? 1.5 : change < stillShare ? -2 : 0;
    }
    if (last >= 0 && values[i] === values[last]) {
      const count = states.has(values[i]!) ? known : fresh;
      count.frames++;
      if (sizes[i] !== sizes[last]) count.moved++;
    }
    last = i;
  }
  const stood = fresh.moved > 0 ? 0 : -fresh.frames * Math.log(1 - known.moved / (known.frames + 1));
  return Math.min(8, evidence) - Math.min(mostStill, stillWeight * stood);
}
