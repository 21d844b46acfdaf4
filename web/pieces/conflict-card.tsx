/** A job that was changed here and on another device: both, side by side, field by field, and the choice between them. */
import { useSignal } from "@preact/signals";
import { decide, open } from "../storage/sync/following.ts";
import type { Theirs } from "../storage/sync/sync-entry.ts";
import { type JobContent, wireText } from "../storage/sync/wire.ts";
import { differences } from "../words/differences.ts";

export function ConflictCard({ id, mine }: { id: string; mine: JobContent }) {
  const entry = open.value.get(id);
  if (entry?.trouble) return <p class="notice notice-bad">The server does not take this job: {entry.trouble}</p>;
  return entry?.theirs ? <BothSides id={id} mine={mine} theirs={entry.theirs} /> : null;
}

function BothSides({ id, mine, theirs }: { id: string; mine: JobContent; theirs: Theirs }) {
  const busy = useSignal(false);
  const trouble = useSignal<string | null>(null);
  const choose = async (keep: "mine" | "theirs") => {
    busy.value = true;
    trouble.value = await decide(id, keep).then(
      () => null,
      () => "The server is out of reach: choose again when it is back. Nothing is lost meanwhile.",
    );
    busy.value = false;
  };
  return (
    <details class="conflict notice">
      <summary>Changed on another device too: look at both</summary>
      <p>Go on working as you like. What you do not choose stays on the server as an older version.</p>
      {theirs.text === null ? (
        <p>The job was deleted on the other device.</p>
      ) : (
        <table>
          <thead>
            <tr>
              <th scope="col">What</th>
              <th scope="col">On this device</th>
              <th scope="col">On the server</th>
            </tr>
          </thead>
          <tbody>
            {differences(wireText(mine), theirs.text).map(({ what, here, there }) => (
              <tr key={what}>
                <th scope="row">{what}</th>
                <td>{here}</td>
                <td>{there}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {trouble.value && <p role="alert">{trouble.value}</p>}
      <div class="actions">
        <button type="button" disabled={busy.value} onClick={() => void choose("mine")}>
          Keep what is on this device
        </button>
        <button type="button" disabled={busy.value} onClick={() => void choose("theirs")}>
          {theirs.text === null ? "Delete it here too" : "Take what is on the server"}
        </button>
      </div>
    </details>
  );
}
