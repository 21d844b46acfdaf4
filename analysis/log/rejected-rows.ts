/**
 * The count of what was left out of a log: reason, how many rows, the first line. Nothing is left out unsaid.
 */
import type { RejectedRows } from "./sample.ts";

/** More reasons than this are counted together: a damaged file must not grow an account without end. */
const mostReasons = 50;

export class RejectedTally {
  #rows = new Map<string, { count: number; firstLine: number }>();

  add(reason: string, line: number): void {
    const known = this.#rows.get(reason);
    if (known !== undefined) known.count++;
    else if (this.#rows.size < mostReasons || reason === "other reasons") {
      this.#rows.set(reason, { count: 1, firstLine: line });
    } else this.add("other reasons", line);
  }

  /** So many more for a reason that is known already. */
  addMore(reason: string, count: number): void {
    const known = this.#rows.get(reason) ?? this.#rows.get("other reasons");
    if (known !== undefined) known.count += count;
  }

  /** Both tallies as one list, in the order of their first lines. */
  static join(...tallies: readonly RejectedTally[]): RejectedRows[] {
    const joined = new Map<string, RejectedRows>();
    for (const tally of tallies) {
      for (const [reason, { count, firstLine }] of tally.#rows) {
        const known = joined.get(reason);
        const total = count + (known?.count ?? 0);
        joined.set(reason, { reason, count: total, firstLine: Math.min(firstLine, known?.firstLine ?? firstLine) });
      }
    }
    return [...joined.values()].sort((a, b) => a.firstLine - b.firstLine);
  }
}
