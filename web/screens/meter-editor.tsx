/** The meters of a job, with their accuracy as the manual prints it: '0.5 % + 3 counts', one count being 0.01 V. */
import type { Job, Meter } from "../../analysis/index.ts";
import { parseAccuracy } from "../job/meter-accuracy.ts";
import { editJob } from "../job/open-job.ts";
import { offerUndo } from "../job/undo.ts";
import { EntryField, NumberField, TextField } from "../pieces/fields.tsx";

export function MeterEditor({ document }: { document: Job }) {
  const add = () =>
    editJob((draft) => {
      draft.meters.push({
        id: freeId(draft),
        label: "",
        volts: { percentOfReading: 0.5, counts: 3, resolution: 0.01 },
      });
    });
  return (
    <section class="sheet" aria-labelledby="meters-heading">
      <h2 id="meters-heading">Meters</h2>
      <ul class="stack">
        {document.meters.map((meter, index) => (
          <li key={meter.id}>
            <MeterFields document={document} meter={meter} index={index} />
          </li>
        ))}
      </ul>
      <button type="button" onClick={add}>
        Add a meter
      </button>
    </section>
  );
}

function freeId(document: Job): string {
  let number = 1;
  while (document.meters.some(({ id }) => id === `m${number}`)) number++;
  return `m${number}`;
}

function MeterFields({ document, meter, index }: { document: Job; meter: Meter; index: number }) {
  const name = meter.label || meter.id;
  const used = [...document.recordings, ...document.readings].some((measured) => measured.meter === meter.id);
  const remove = () => {
    editJob((draft) => draft.meters.splice(index, 1));
    offerUndo(`Meter ${name} removed.`, () =>
      editJob((draft) => draft.meters.splice(index, 0, structuredClone(meter))),
    );
  };
  return (
    <details class="meter">
      <summary>
        <span class="row-name">
          <b>{name}</b>
          <small>{accuracyWords(meter)}</small>
        </span>
      </summary>
      <div class="fields">
        <TextField
          label="Name"
          value={meter.label}
          onValue={(label) =>
            editJob((draft) => {
              draft.meters[index]!.label = label;
            })
          }
        />
        <AccuracyFields meter={meter} index={index} quantity="volts" />
        <AccuracyFields meter={meter} index={index} quantity="amps" />
      </div>
      {used ? (
        <p class="field-note">Measured with in this job.</p>
      ) : (
        <button type="button" class="plain" onClick={remove}>
          Remove {name}
        </button>
      )}
    </details>
  );
}

function accuracyWords({ volts, amps }: Meter): string {
  const words = [volts && { ...volts, unit: "V" }, amps && { ...amps, unit: "A" }].flatMap((range) =>
    range ? [`${range.percentOfReading} % + ${range.counts}, one count ${range.resolution} ${range.unit}`] : [],
  );
  return words.join("; ") || "accuracy not written down";
}

const units = { volts: "V", amps: "A" } as const;

function AccuracyFields({ meter, index, quantity }: { meter: Meter; index: number; quantity: "volts" | "amps" }) {
  const accuracy = meter[quantity];
  const words = quantity === "volts" ? "volts" : "amps";
  return (
    <>
      <EntryField
        label={`Accuracy, ${words}`}
        numeric={false}
        path={`meters.${meter.id}.${quantity}`}
        text={accuracy ? `${accuracy.percentOfReading} % + ${accuracy.counts}` : ""}
        hint="as in its manual: 0.5 % + 3"
        check={(text) =>
          text.trim() === "" || parseAccuracy(text)
            ? null
            : `Accuracy: should read like “0.5 % + 3 counts”; got “${text}”.`
        }
        apply={(text) =>
          editJob((draft) => {
            const stated = parseAccuracy(text);
            const usual = quantity === "volts" ? 0.01 : 0.1;
            draft.meters[index]![quantity] = stated
              ? { resolution: usual, ...draft.meters[index]![quantity], ...stated }
              : undefined;
          })
        }
      />
      <NumberField
        label={`One count, ${words}`}
        unit={units[quantity]}
        path={`meters.${meter.id}.${quantity}.resolution`}
        value={accuracy?.resolution}
        least={1e-7}
        most={1000}
        needed={accuracy !== undefined}
        onValue={(resolution) =>
          editJob((draft) => {
            const range = draft.meters[index]![quantity];
            if (range && resolution) range.resolution = resolution;
          })
        }
      />
    </>
  );
}
