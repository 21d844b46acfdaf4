/** What was just deleted, and the way back. It stays until it is used or sent away. */
import { undoable, undoLast } from "../job/undo.ts";

export function UndoBar() {
  const last = undoable.value;
  return (
    <div class="undo-bar" role="status" hidden={!last}>
      {last && (
        <>
          <span>{last.what}</span>
          <button type="button" onClick={() => void undoLast()}>
            Undo
          </button>
          <button
            type="button"
            class="plain"
            aria-label="Close this message"
            onClick={() => {
              undoable.value = null;
            }}
          >
            ✕
          </button>
        </>
      )}
    </div>
  );
}
