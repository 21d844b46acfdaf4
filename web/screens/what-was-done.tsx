/** What was done before a round was measured: one tap for what the finding asked for, lines of the technician's own for the rest. */
import { useState } from "preact/hooks";
import type { Job, Round, RoundDiagnosis } from "../../analysis/index.ts";
import { addDone, changePart, editRound } from "../job/repair-round.ts";
import { TextField } from "../pieces/fields.tsx";
import { nameOfPart } from "../words/reading-words.ts";
import { capital } from "../words/shown.ts";

interface WhatWasDoneProps {
  readonly document: Job;
  readonly entry: Round;
  /** the round before, as it was found; null where nothing was measured in it */
  readonly earlier: RoundDiagnosis | null;
}

export function WhatWasDone({ document, entry, earlier }: WhatWasDoneProps) {
  const { round } = entry;
  return (
    <section class="sheet" aria-labelledby="done-heading">
      <h2 id="done-heading">What was done before “{round}”</h2>
      <Suggestions document={document} entry={entry} earlier={earlier} />
      <ul class="done-list">
        {(entry.done ?? []).map((words, index) => (
          <li key={words}>
            <span>{words}</span>
            <button
              type="button"
              class="plain"
              aria-label={`Take out: ${words}`}
              onClick={() =>
                editRound(round, (now) => {
                  now.done = (now.done ?? []).toSpliced(index, 1);
                })
              }
            >
              Take out
            </button>
          </li>
        ))}
      </ul>
      <AddLine round={round} />
      <div class="fields">
        <div class="field">
          <label for={`date-${round}`}>Day</label>
          <input
            id={`date-${round}`}
            type="date"
            value={entry.date ?? ""}
            onInput={({ currentTarget: { value } }) =>
              editRound(round, (now) => {
                now.date = value || undefined;
              })
            }
          />
        </div>
        <div class="wide">
          <TextField
            long
            label="Note"
            value={entry.note}
            onValue={(note) =>
              editRound(round, (now) => {
                now.note = note || undefined;
              })
            }
          />
        </div>
      </div>
    </section>
  );
}

/** So many parts of a finding are offered by name; a longer group is not yet a repair. */
const mostOffered = 4;

function Suggestions({ document, entry, earlier }: WhatWasDoneProps) {
  const [first] = earlier?.findings ?? [];
  if (!first || first.cause === "supply-sound" || first.parts.length === 0 || first.parts.length > mostOffered)
    return null;
  const isWire = first.cause === "conductor-not-as-declared" || first.cause === "undersized-run";
  return (
    <ul class="stack suggestions">
      {first.parts.map((id) => {
        const name = nameOfPart(document, id);
        const cleaned = `${capital(name)} cleaned and tightened`;
        const renewed = `${capital(name)} renewed`;
        return (
          <li key={id} class="actions">
            {!isWire && <DoneButton entry={entry} words={cleaned} onDone={() => addDone(entry.round, cleaned)} />}
            <DoneButton
              entry={entry}
              words={renewed}
              onDone={() => {
                changePart(entry.round, id, {});
                addDone(entry.round, renewed);
              }}
            />
          </li>
        );
      })}
    </ul>
  );
}

function DoneButton({ entry, words, onDone }: { entry: Round; words: string; onDone: () => void }) {
  return (
    <button type="button" disabled={entry.done?.includes(words)} onClick={onDone}>
      {words}
    </button>
  );
}

function AddLine({ round }: { round: string }) {
  const [text, setText] = useState("");
  const add = () => {
    if (text.trim() === "") return;
    addDone(round, text.trim());
    setText("");
  };
  return (
    <form
      class="add-line"
      onSubmit={(event) => {
        event.preventDefault();
        add();
      }}
    >
      <TextField label="Something else that was done" value={text} onValue={setText} />
      <button type="submit">Add</button>
    </form>
  );
}
