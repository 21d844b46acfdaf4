/** The last thing deleted, and how to bring it back. */
import { signal } from "@preact/signals";

export interface Undoable {
  readonly what: string;
  readonly undo: () => void | Promise<void>;
}

export const undoable = signal<Undoable | null>(null);

export function offerUndo(what: string, undo: Undoable["undo"]): void {
  undoable.value = { what, undo };
}

export async function undoLast(): Promise<void> {
  const last = undoable.value;
  undoable.value = null;
  await last?.undo();
}

/** Takes an item out of a list of the open job and offers to put it back where it was. */
export function removeFrom<T>(list: T[], index: number): T {
  return list.splice(index, 1)[0]!;
}
