/**
 * The marks by which a log says that it has no number (`OL`, `---`, an empty cell), as bytes: once the general way has
 * met one, the scanner takes the rows that hold it, of which an open clamp or lead writes millions.
 */
import type { Channel, ClockedChannels } from "./channel.ts";
import { parseNumberCell } from "./number-cell.ts";

export interface GapMark {
  /** the cell as it stands */
  readonly bytes: Uint8Array;
  readonly reason: string;
  /** rows taken with it and not yet told to the channels */
  count: number;
}

/** A column uses one or two. */
const mostMarks = 4;

export class GapMarks {
  readonly #clocked: readonly ClockedChannels[];
  readonly #byColumn = new Map<number, GapMark[]>();
  readonly #encoder = new TextEncoder();

  constructor(clocked: readonly ClockedChannels[]) {
    this.#clocked = clocked;
  }

  of(column: number): readonly GapMark[] {
    return this.#byColumn.get(column) ?? [];
  }

  /**
   * Learns the marks of a row that the general way has just taken.
   * @returns the row with a number from `numbers` in place of each mark, so that the rest of its pattern can be learnt
   */
  learn(cells: readonly string[], numbers: readonly string[]): readonly string[] {
    let filled: string[] | null = null;
    for (const { clock, channels } of this.#clocked) {
      for (const { choice } of channels) {
        const text = cells[choice.column];
        const cell = text === undefined ? null : parseNumberCell(text, ".");
        if (text === undefined || cell?.kind !== "gap") continue;
        // A row that counts itself is none without a word in it.
        if (text.trim() !== "" || clock.columns.length > 0) this.#add(choice.column, text, cell.reason);
        filled ??= [...cells];
        filled[choice.column] = numbers[choice.column] ?? text;
      }
    }
    return filled ?? cells;
  }

  #add(column: number, text: string, reason: string): void {
    const marks = this.#byColumn.get(column) ?? [];
    const bytes = this.#encoder.encode(text);
    if (marks.length === mostMarks || marks.some((mark) => sameBytes(mark.bytes, bytes))) return;
    this.#byColumn.set(column, [...marks, { bytes, reason, count: 0 }]);
  }

  /** Tells a channel of the rows taken with its marks; `settle` then ends the account. */
  tell(channel: Channel): void {
    for (const { reason, count } of this.of(channel.choice.column)) if (count > 0) channel.takeGaps(reason, count);
  }

  settle(): void {
    for (const marks of this.#byColumn.values()) for (const mark of marks) mark.count = 0;
  }
}

const sameBytes = (a: Uint8Array, b: Uint8Array): boolean =>
  a.length === b.length && a.every((byte, k) => byte === b[k]);
