/** A reading typed from the meter's display: where, in which state, how much. Kept with one tap, ready for the next. */
import { useState } from "preact/hooks";
import {
  type EngineState,
  engineWords,
  type Job,
  type RadioState,
  radioWords,
  type TypedReading,
} from "../../analysis/index.ts";
import { currentRound, keepReading, removeReading } from "../job/measuring.ts";
import { job as openDocument } from "../job/open-job.ts";
import { ChoiceField, parseNumber, Segments } from "../pieces/fields.tsx";
import { NumberPad } from "../pieces/number-pad.tsx";
import { placeOf } from "../words/reading-words.ts";
import { readingWords } from "./measured-list.tsx";
import { isPlaced, meterChoices, PlaceFields } from "./place-fields.tsx";

type Unit = "V" | "mV" | "A";

interface Entry {
  readonly quantity: "volts" | "amps";
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
  readonly engine: EngineState;
  readonly radio: RadioState;
  readonly meter: string;
  readonly held: "" | "lowest" | "highest";
  readonly drawnBy: "set" | "test-load";
  readonly rfInto: "" | "dummy-load" | "antenna";
}

export function ReadingEntry({ job, query }: { job: Job; query: URLSearchParams }) {
  const [entry, setEntry] = useState<Entry>(() => fromQuery(job, query));
  const [text, setText] = useState("");
  const [unit, setUnit] = useState<Unit>(entry.quantity === "amps" ? "A" : "V");
  const [said, setSaid] = useState("");
  const [preset] = useState(isPlaced(entry));
  const change = (fields: Partial<Entry>) => setEntry((now) => ({ ...now, ...fields }));
  const shownUnit: Unit = entry.quantity === "amps" ? "A" : unit === "A" ? "V" : unit;

  const keep = () => {
    const number = parseNumber(text);
    if (number === null)
      return setSaid(
        text === ""
          ? "Type what the display shows first."
          : `“${text}” is not a number: type what the display shows, as 0.62.`,
      );
    if (!isPlaced(entry))
      return setSaid(
        entry.quantity === "amps"
          ? "Say round which part the clamp sat."
          : "Say where both probes were, on two different points.",
      );
    const reading = typedReading(entry, shownUnit === "mV" ? number / 1000 : number);
    keepReading(reading);
    setText("");
    setSaid(`Kept: ${readingWords(job, reading)}.`);
  };

  const takeBack = () => {
    const last = openDocument.value!.readings.length - 1;
    removeReading(last, readingWords(job, openDocument.value!.readings[last]!));
    setSaid("");
  };

  return (
    <section class="sheet" id="type" aria-labelledby="type-heading">
      <h2 id="type-heading">Type a reading</h2>
      <details open={!preset}>
        <summary>
          {isPlaced(entry) ? placeOf(job, entry) : "Where and how"}, {radioWords[entry.radio]},{" "}
          {engineWords[entry.engine]}
        </summary>
        <div class="row-body">
          <PlaceFields job={job} place={entry} onPlace={change} />
          <Segments
            label="Set"
            value={entry.radio}
            choices={[
              ["transmit", "Keyed"],
              ["idle", "Receiving"],
              ["off", "Off"],
            ]}
            onValue={(radio) => change({ radio: radio as RadioState })}
          />
          <Segments
            label="Engine"
            value={entry.engine}
            choices={[
              ["off", "Off"],
              ["running", "Running"],
            ]}
            onValue={(engine) => change({ engine: engine as EngineState })}
          />
        </div>
      </details>
      <NumberPad
        label="Reading"
        text={text}
        unit={shownUnit}
        onUnit={entry.quantity === "volts" ? () => setUnit(shownUnit === "V" ? "mV" : "V") : null}
        onText={setText}
        onEnter={keep}
      />
      <button type="button" class="main-action" onClick={keep}>
        Keep it
      </button>
      <p role="status" class="kept">
        {said}{" "}
        {said.startsWith("Kept") && (
          <button type="button" onClick={takeBack}>
            Take it back
          </button>
        )}
      </p>
      <details>
        <summary>Meter, min/max hold, test load</summary>
        <div class="fields">
          <ChoiceField
            label="Meter"
            value={entry.meter}
            choices={meterChoices(job)}
            onValue={(meter) => change({ meter })}
          />
          <ChoiceField
            label="Held by the meter"
            value={entry.held}
            choices={[
              ["", "A settled value"],
              ["lowest", "Lowest while keyed"],
              ["highest", "Highest while keyed"],
            ]}
            onValue={(held) => change({ held: held as Entry["held"] })}
          />
          <ChoiceField
            label="Current drawn by"
            value={entry.drawnBy}
            choices={[
              ["set", "The set"],
              ["test-load", "A test load in its place"],
            ]}
            onValue={(drawnBy) => change({ drawnBy: drawnBy as Entry["drawnBy"] })}
          />
          <ChoiceField
            label="Keyed into"
            value={entry.rfInto}
            choices={[
              ["", "Not written down"],
              ["dummy-load", "A dummy load"],
              ["antenna", "The antenna"],
            ]}
            onValue={(rfInto) => change({ rfInto: rfInto as Entry["rfInto"] })}
          />
        </div>
      </details>
    </section>
  );
}

function fromQuery(job: Job, query: URLSearchParams): Entry {
  const of = (name: string) => query.get(name) ?? undefined;
  return {
    quantity: of("through") ? "amps" : "volts",
    from: of("from"),
    to: of("to"),
    through: of("through"),
    engine: (of("engine") as EngineState) ?? "off",
    radio: (of("radio") as RadioState) ?? "transmit",
    meter: job.meters[0]?.id ?? "",
    held: "",
    drawnBy: of("drawnBy") === "test-load" ? "test-load" : "set",
    rfInto: "",
  };
}

function typedReading(entry: Entry, value: number): TypedReading {
  const { quantity, from, to, through, engine, radio, meter, held, drawnBy, rfInto } = entry;
  return {
    round: currentRound.value,
    ...(meter ? { meter } : {}),
    ...(quantity === "amps" ? { through, amps: value } : { from, to, volts: value }),
    engine,
    radio,
    ...(held ? { held } : {}),
    ...(drawnBy === "test-load" ? { drawnBy } : {}),
    ...(rfInto ? { rfInto } : {}),
    takenAt: new Date().toISOString(),
  };
}
