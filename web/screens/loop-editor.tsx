/** The circuit as a list, battery + at the top: change, move, add and remove, by touch and by keyboard. */
import { useRef, useState } from "preact/hooks";
import { isLoad, isPart, isPoint, type Job, type LoopItem } from "../../analysis/index.ts";
import {
  addable,
  canAddAfter,
  freeName,
  isFixed,
  moveItem,
  namedBy,
  placeAfterMove,
  renamePoint,
} from "../job/loop-edits.ts";
import { editJob } from "../job/open-job.ts";
import { offerUndo } from "../job/undo.ts";
import { wireText } from "../job/wire-size.ts";
import { ChoiceField, TextField } from "../pieces/fields.tsx";
import { PartSymbol } from "../pieces/part-symbol.tsx";
import { settings } from "../settings.ts";
import { kindName, partName, pointName } from "../words/plain-words.ts";
import { PartFields } from "./part-fields.tsx";

export function LoopEditor({ job, dropText }: { job: Job; dropText: (id: string) => string }) {
  const list = useRef<HTMLOListElement>(null);
  const [said, setSaid] = useState("");
  const move = (index: number, step: 1 | -1) => {
    const to = placeAfterMove(job.loop, index, step);
    if (to === null) return;
    editJob((document) => moveItem(document.loop, index, step));
    setSaid(`${nameOf(job.loop[index]!)} is now number ${to + 1} of ${job.loop.length}.`);
    requestAnimationFrame(() =>
      list.current?.querySelectorAll<HTMLElement>(":scope > li > details > summary")[to]?.focus(),
    );
  };
  const load = job.loop.findIndex(isLoad);
  return (
    <>
      <ol class="loop-editor" ref={list}>
        {job.loop.map((item, index) => (
          <li key={nameOf(item)} class={index < load ? "leg-supply" : "leg-return"}>
            <LoopRow job={job} item={item} index={index} move={move} dropText={dropText} />
          </li>
        ))}
      </ol>
      <p class="out-of-sight" role="status">
        {said}
      </p>
    </>
  );
}

const nameOf = (item: LoopItem): string => (isPoint(item) ? pointName(item.point) : partName(item));

interface RowProps {
  readonly job: Job;
  readonly item: LoopItem;
  readonly index: number;
  readonly move: (index: number, step: 1 | -1) => void;
  readonly dropText: (id: string) => string;
}

function LoopRow({ job, item, index, move, dropText }: RowProps) {
  const name = nameOf(item);
  const moved = (event: KeyboardEvent) => {
    if (!event.altKey || (event.key !== "ArrowUp" && event.key !== "ArrowDown")) return;
    event.preventDefault();
    move(index, event.key === "ArrowUp" ? -1 : 1);
  };
  return (
    <details class={isPoint(item) ? "row-point" : "row-part"}>
      {/* biome-ignore lint/a11y/noStaticElementInteractions: a summary is a control, which the rule does not know */}
      <summary onKeyDown={moved}>
        <PartSymbol item={item} />
        <span class="row-name">
          <b>{name}</b>
          <small>{factsOf(item)}</small>
        </span>
        {isPart(item) && <output>{dropText(item.id)}</output>}
      </summary>
      <div class="row-body">
        <ItemFields job={job} item={item} index={index} />
        <div class="actions">
          {!isFixed(item) && (
            <>
              <button
                type="button"
                disabled={placeAfterMove(job.loop, index, -1) === null}
                onClick={() => move(index, -1)}
              >
                ↑ Move up
              </button>
              <button
                type="button"
                disabled={placeAfterMove(job.loop, index, 1) === null}
                onClick={() => move(index, 1)}
              >
                ↓ Move down
              </button>
              <RemoveButton job={job} item={item} index={index} name={name} />
            </>
          )}
        </div>
        {canAddAfter(item) && <AddAfter job={job} index={index} name={name} />}
      </div>
    </details>
  );
}

function factsOf(item: LoopItem): string {
  if (isPoint(item)) return item.reach === "no" ? "test point, cannot be reached" : "test point";
  if (item.part === "wire") return wireText(item, settings.value.length);
  if (item.part === "fuse")
    return `${kindName(item)}${item.ratingAmps ? `, ${item.ratingAmps} A` : ", rating not known"}`;
  return kindName(item);
}

function RemoveButton({ job, item, index, name }: { job: Job; item: LoopItem; index: number; name: string }) {
  const uses = namedBy(job, item);
  if (uses > 0)
    return <span class="field-note">Measured at {uses} times: move or delete those readings to remove it.</span>;
  const remove = () => {
    editJob((document) => document.loop.splice(index, 1));
    offerUndo(`${name} removed.`, () => editJob((document) => document.loop.splice(index, 0, structuredClone(item))));
  };
  return (
    <button type="button" onClick={remove}>
      Remove
    </button>
  );
}

function AddAfter({ job, index, name }: { job: Job; index: number; name: string }) {
  const add = (made: (typeof addable)[number]) => {
    editJob((document) => document.loop.splice(index + 1, 0, made.make(freeName(job.loop, made.id))));
  };
  return (
    <details class="add-after">
      <summary>Add after {name}</summary>
      <div class="actions">
        {addable.map((made) => (
          <button key={made.id} type="button" onClick={() => add(made)}>
            {made.words}
          </button>
        ))}
      </div>
    </details>
  );
}

function ItemFields({ job, item, index }: { job: Job; item: LoopItem; index: number }) {
  const change = (fields: object) => editJob((document) => Object.assign(document.loop[index]!, fields));
  if (isPoint(item)) return <PointFields job={job} item={item} change={change} />;
  if (isLoad(item)) return <p>What the circuit feeds: its currents are written down under “The set”.</p>;
  const path = `loop.${item.id}`;
  return (
    <div class="fields">
      <TextField label="Name" value={partName(item)} onValue={(label) => change({ label })} />
      <PartFields item={item} path={path} change={change} />
    </div>
  );
}

function PointFields({
  job,
  item,
  change,
}: {
  job: Job;
  item: Extract<LoopItem, { point: string }>;
  change: (fields: object) => void;
}) {
  const rename = (text: string) => {
    const wanted = text.trim().replaceAll(/\s+/g, "-");
    if (wanted !== "" && wanted !== item.point)
      editJob((document) => renamePoint(document, item.point, freeName(job.loop, wanted)));
  };
  return (
    <div class="fields">
      {!isFixed(item) && (
        <div class="field">
          <label for={`name-${item.point}`}>Name</label>
          <input
            id={`name-${item.point}`}
            value={item.point}
            autoComplete="off"
            onChange={(event) => rename(event.currentTarget.value)}
          />
        </div>
      )}
      <ChoiceField
        label="Can a probe reach it?"
        value={item.reach ?? "easy"}
        choices={[
          ["easy", "Yes"],
          ["hard", "With trouble"],
          ["no", "No: never ask for it"],
        ]}
        onValue={(reach) => change({ reach: reach === "easy" ? undefined : reach })}
      />
    </div>
  );
}
