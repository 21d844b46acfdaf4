/**
 * One reading after the other: the card says where the clips go; once they are on, the app waits for the set to be keyed,
 * takes the level when it stands, and says so. No hand is needed on the phone in between.
 */
import { useSignal } from "@preact/signals";
import {
  cautionsForReading,
  fixed,
  type Job,
  type NextReading,
  type TypedReading,
  type Waiting,
} from "../../analysis/index.ts";
import { diagnosing } from "../job/diagnosis-now.ts";
import { currentRound } from "../job/measuring.ts";
import { openJob } from "../job/open-job.ts";
import { wakeSound } from "../meter/feedback.ts";
import type { GuidedReading, LivePlace, Placed } from "../meter/guided-reading.ts";
import type { LiveMeter } from "../meter/live-meter.ts";
import { CautionList } from "../pieces/caution-list.tsx";
import { ChoiceField, Segments } from "../pieces/fields.tsx";
import { ProbeDrawing, ProbeWords } from "../pieces/probe-drawing.tsx";
import { addressOf } from "../routes.ts";
import { readingWords } from "../screens/measured-list.tsx";
import { isPlaced, meterChoices, PlaceFields } from "../screens/place-fields.tsx";
import { firstReading, placeOf, stateToTake } from "../words/reading-words.ts";
import { beginReading, endReading, nameOf, readable, reading, secondPlace } from "./live-state.ts";
import { LiveValue } from "./meter-panel.tsx";

export function GuidedCard({ job, next }: { job: Job; next: NextReading | null }) {
  const taking = reading.value;
  if (taking?.wish.logOnly) return null;
  const busy = taking && taking.progress.value.waiting !== "captured";
  return (
    <>
      {taking && <Taking job={job} taking={taking} />}
      {!busy && <WhatNext job={job} next={next} />}
    </>
  );
}

/** A reading just taken is weighed first: what it says decides what to read next. */
function WhatNext({ job, next }: { job: Job; next: NextReading | null }) {
  if (diagnosing.value) return <p class="notice">Weighing what to read next …</p>;
  if (next) return <ToTake job={job} next={next} />;
  return (
    <>
      <p class="notice">
        No further reading would change the answer. <a href={addressOf(openJob.value!.id, "find")}>See the result</a>
      </p>
      <details>
        <summary>Take another all the same</summary>
        <ToTake job={job} next={firstReading(job)} />
      </details>
    </>
  );
}

/** What is to be read, before the clips are on. */
function ToTake({ job, next }: { job: Job; next: NextReading }) {
  const own = useSignal<NextReading | null>(null);
  const second = useSignal<LivePlace>(secondPlace.peek() ?? otherPlace(next));
  const meterId = useSignal(job.meters[0]?.id ?? "");
  const secondId = useSignal(job.meters[1]?.id ?? "");
  const wanted = own.value ?? next;
  const cautions = cautionsForReading(job, wanted);
  const [first, other] = metersFor(wanted);
  const complete = isPlaced(placeIn(wanted)) && (!other || isPlaced(second.value));
  const begin = () => {
    if (!first) return;
    wakeSound();
    const placed: Placed[] = [{ meter: first, place: placeIn(wanted), meterId: meterId.value }];
    if (other) placed.push({ meter: other, place: second.value, meterId: secondId.value });
    void beginReading(placed, { radio: wanted.radio, engine: wanted.engine, round: currentRound.value });
  };
  return (
    <section class="next-card" aria-labelledby="next-heading">
      <h2 id="next-heading">Next reading</h2>
      <div class="next-place">
        <ProbeWords job={job} place={wanted} />
        <ProbeDrawing job={job} place={wanted} />
      </div>
      <p class="next-state">{stateToTake(wanted)}</p>
      <CautionList cautions={cautions} />
      {!first && <p class="notice">{noMeterFor(wanted)}</p>}
      {first && other && <p class="field-note">{nameOf(first)} goes to the place above.</p>}
      {other && (
        <details open={secondPlace.peek() === null}>
          <summary>
            {nameOf(other)} reads at the same time{isPlaced(second.value) && `: ${placeOf(job, second.value)}`}
          </summary>
          <div class="row-body">
            <PlaceFields job={job} place={second.value} onPlace={(place) => (second.value = place)} />
            {job.meters.length > 0 && (
              <ChoiceField
                label="As written down in the job"
                value={secondId.value}
                choices={meterChoices(job)}
                onValue={(id) => (secondId.value = id)}
              />
            )}
          </div>
        </details>
      )}
      <button type="button" class="main-action" disabled={!first || !complete} onClick={begin}>
        The clips are on
      </button>
      {next.why && !own.value && <p class="field-note">Why: {next.why}</p>}
      <details>
        <summary>Another place or state</summary>
        <OwnReading job={job} wanted={wanted} onWanted={(changed) => (own.value = changed)} />
      </details>
      {job.meters.length > 0 && (
        <ChoiceField
          label="This meter, as written down in the job"
          value={meterId.value}
          choices={meterChoices(job)}
          onValue={(id) => (meterId.value = id)}
        />
      )}
    </section>
  );
}

/** A second meter starts where it says most beside the first: at the set, or at the battery's posts. */
const otherPlace = ({ from, to }: NextReading): LivePlace =>
  from === "load+" && to === "load-"
    ? { quantity: "volts", from: "battery+", to: "battery-" }
    : { quantity: "volts", from: "load+", to: "load-" };

/** The meter that shows what is wanted comes first. */
function metersFor({ through }: NextReading): LiveMeter[] {
  const quantity = through === undefined ? "volts" : "amps";
  const shows = (meter: LiveMeter) => (meter.shown.value?.quantity ?? quantity) === quantity;
  const fitting = readable.value.filter(shows);
  return fitting.length === 0 ? [] : [fitting[0]!, ...readable.value.filter((meter) => meter !== fitting[0])];
}

function noMeterFor({ through }: NextReading): string {
  if (readable.value.length === 0) return "No meter is read yet: connect one, or type the number on the page before.";
  return through === undefined
    ? "This reading is of volts, and the meter shows amps: turn it to DC volts, or connect another."
    : "This reading is of amps, and no clamp is connected: connect it, or choose another place below.";
}

const placeIn = ({ from, to, through }: NextReading): LivePlace =>
  through === undefined ? { quantity: "volts", from, to } : { quantity: "amps", through };

function OwnReading(props: { job: Job; wanted: NextReading; onWanted: (wanted: NextReading) => void }) {
  const { job, wanted, onWanted } = props;
  const change = (fields: Partial<NextReading>) => onWanted({ ...wanted, ...fields, why: "" });
  return (
    <div class="row-body">
      <PlaceFields
        job={job}
        place={placeIn(wanted)}
        onPlace={({ from, to, through, quantity }) =>
          change(
            quantity === "amps"
              ? { from: undefined, to: undefined, through: through ?? "" }
              : { from, to, through: undefined },
          )
        }
      />
      <Segments
        label="Set"
        value={wanted.radio}
        choices={[
          ["transmit", "Keyed"],
          ["idle", "Receiving"],
          ["off", "Off"],
        ]}
        onValue={(radio) => change({ radio: radio as NextReading["radio"] })}
      />
      <Segments
        label="Engine"
        value={wanted.engine}
        choices={[
          ["off", "Off"],
          ["running", "Running"],
        ]}
        onValue={(engine) => change({ engine: engine as NextReading["engine"] })}
      />
    </div>
  );
}

/** Half a 95 % interval in standard uncertainties (normal distribution). */
const widthOf95 = 1.96;

/** Keyed for so long; then it is released, read or not. */
const keyedSeconds = 5;

function Taking({ job, taking }: { job: Job; taking: GuidedReading }) {
  const { waiting, keyedForSeconds, radio } = taking.progress.value;
  const readings = taking.readings.value;
  const done = waiting === "captured";
  const keyedWanted = taking.wish.radio === "transmit";
  return (
    <section class={`next-card taking ${done ? "taking-done" : ""}`} aria-labelledby="taking-heading">
      <h2 id="taking-heading">{placeOf(job, taking.placed[0]!.place)}</h2>
      {taking.placed.map(({ meter, place }, index) => (
        <div key={meter.label.value + index} class="taking-value">
          {index > 0 && <p>{placeOf(job, place)}</p>}
          <LiveValue meter={meter} />
          {meter.shown.value?.quantity && meter.shown.value.quantity !== place.quantity && (
            <p role="alert">
              The meter shows {meter.shown.value.quantity}; this reading is of {place.quantity}: turn it over.
            </p>
          )}
        </div>
      ))}
      <p class="taking-words" role="status">
        {wordsFor(waiting, keyedWanted, keyedForSeconds)}
      </p>
      {keyedWanted && keyedForSeconds !== null && !done && <Countdown seconds={keyedForSeconds} />}
      {done && <Taken job={job} taking={taking} readings={readings} />}
      <p class="field-note">{stateWords(radio, taking.progress.value.engine)}</p>
      <div class="actions">
        {done ? (
          <>
            <button type="button" onClick={() => taking.again()}>
              Once more
            </button>
            <button type="button" onClick={() => void taking.refuse()}>
              Not that one: again
            </button>
          </>
        ) : (
          <>
            {waiting === "keying" && (
              <button type="button" onClick={() => taking.sayKeyed()}>
                It is keyed, but nothing moves
              </button>
            )}
            {(waiting === "engine-off" || waiting === "engine-running") && (
              <button type="button" onClick={() => taking.takeAnyEngine()}>
                The engine is {taking.wish.engine}: take it
              </button>
            )}
            <button type="button" onClick={() => void endReading()}>
              Stop
            </button>
          </>
        )}
      </div>
    </section>
  );
}

function wordsFor(waiting: Waiting, keyed: boolean, keyedFor: number | null): string {
  switch (waiting) {
    case "values":
      return "Waiting for the meter …";
    case "steady":
      return "Wait: the value before keying is taken first.";
    case "keying":
      return "Key the set for five seconds.";
    case "settling":
      if (!keyed) return "Wait until it stands still …";
      return keyedFor !== null && keyedFor > keyedSeconds
        ? "It does not stand still: release, wait a moment, key again."
        : "Keyed: hold it …";
    case "release":
      return "Release the key: this reading is of the set receiving.";
    case "engine-off":
      return "The engine seems to run: switch it off for this one.";
    case "engine-running":
      return "Start the engine for this one.";
    case "captured":
      return keyed ? "Taken. Release the key." : "Taken.";
  }
}

function Countdown({ seconds }: { seconds: number }) {
  const left = Math.max(keyedSeconds - seconds, 0);
  return (
    <p class="countdown" aria-hidden="true">
      {left}
    </p>
  );
}

function Taken(props: { job: Job; taking: GuidedReading; readings: readonly TypedReading[] }) {
  const { job, taking, readings } = props;
  const levels = taking.captured.value?.levels ?? [];
  return (
    <ul class="taken">
      {readings.map((reading, index) => {
        const unit = reading.amps === undefined ? "V" : "A";
        const level = levels[index];
        return (
          <li key={reading.takenAt + String(index)}>
            <strong>{readingWords(job, reading)}</strong>
            {level && (
              <span class="field-note">
                {` stood within ± ${fixed(widthOf95 * level.uncertainty, taking.placed[index]!.meter.decimals + 1)} ${unit} over ${level.samples} values; the meter’s own accuracy comes on top`}
              </span>
            )}
          </li>
        );
      })}
    </ul>
  );
}

const radioSeen = { transmit: "keyed", idle: "receiving" } as const;

function stateWords(radio: "idle" | "transmit" | null, engine: "off" | "running" | null): string {
  const seen = [radio && `the set ${radioSeen[radio]}`, engine && `the engine ${engine}`].filter(Boolean).join(", ");
  return seen ? `Seen: ${seen}.` : "Nothing seen of set and engine yet.";
}
