/** Parts that are different from this round on: which, and what of them. The forecast and the comparison take them as they now are. */
import { isPart, type Job, type Part, partsOf, type Round } from "../../analysis/index.ts";
import { changePart, leavePartAsItWas, partNow } from "../job/repair-round.ts";
import { wireText } from "../job/wire-size.ts";
import { ChoiceField } from "../pieces/fields.tsx";
import { settings } from "../settings.ts";
import { kindName, partName } from "../words/plain-words.ts";
import { PartFields } from "./part-fields.tsx";

interface ChangedPartsProps {
  /** the job with its wiring as it was in the round before */
  readonly asItWas: Job;
  readonly entry: Round;
}

export function ChangedParts({ asItWas, entry }: ChangedPartsProps) {
  const parts = partsOf(asItWas);
  const changedIds = (entry.changed ?? []).map(({ id }) => id);
  const left = parts.filter(({ id }) => !changedIds.includes(id));
  return (
    <section class="sheet" aria-labelledby="changed-heading">
      <h2 id="changed-heading">Parts that are different now</h2>
      {changedIds.length === 0 && (
        <p class="field-note">None so far: what was only cleaned or tightened need not stand here.</p>
      )}
      {changedIds.map((id) => {
        const was = parts.find((part) => part.id === id);
        return was && <ChangedPart key={id} was={was} entry={entry} />;
      })}
      <ChoiceField
        label="Another part was renewed or replaced"
        value=""
        choices={[["", "Pick the part"], ...left.map((part) => [part.id, partName(part)] as const)]}
        onValue={(id) => id && changePart(entry.round, id, {})}
      />
    </section>
  );
}

function ChangedPart({ was, entry }: { was: Part; entry: Round }) {
  const now = partNow(was, entry);
  const name = partName(was);
  if (!isPart(now)) return null;
  return (
    <details class="changed-part" open>
      <summary>
        {name}: {described(now)}
      </summary>
      <div class="row-body">
        <p class="field-note">Was: {described(was)}. A new one of the same kind needs no change below.</p>
        <div class="fields">
          <PartFields
            item={now}
            path={`round.${entry.round}.${was.id}`}
            change={(fields) => changePart(entry.round, was.id, fields)}
          />
        </div>
        <button type="button" onClick={() => leavePartAsItWas(entry.round, was.id)}>
          It is as it was
        </button>
      </div>
    </details>
  );
}

function described(part: Part): string {
  if (part.part === "wire") return wireText(part, settings.value.length);
  const rating = part.part === "fuse" && part.ratingAmps !== undefined ? `, ${part.ratingAmps} A` : "";
  return `${kindName(part).toLowerCase()}${rating}`;
}
