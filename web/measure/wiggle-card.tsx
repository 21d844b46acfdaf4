/** The wiggle test: a tone follows the level while a hand works along the harness; a tap marks the moment in the log. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { Job } from "../../analysis/index.ts";
import { currentRound } from "../job/measuring.ts";
import type { LivePlace } from "../meter/guided-reading.ts";
import { startTone, stopTone, toneOn } from "../meter/tone.ts";
import { TextField } from "../pieces/fields.tsx";
import { isPlaced, PlaceFields } from "../screens/place-fields.tsx";
import { placeOf } from "../words/reading-words.ts";
import { beginReading, endReading, readable, reading } from "./live-state.ts";
import { LiveValue } from "./meter-panel.tsx";

export function WiggleCard({ job }: { job: Job }) {
  const taking = reading.value;
  const [meter] = readable.value;
  const place = useSignal<LivePlace>({ quantity: "volts", from: "load+", to: "load-" });
  useEffect(() => stopTone, []);
  if (!meter || (taking && !taking.wish.logOnly)) return null;
  const begin = async () => {
    startTone();
    const wish = { radio: "idle", engine: "off", round: currentRound.value, logOnly: true } as const;
    await beginReading([{ meter, place: place.value, meterId: job.meters[0]?.id ?? "" }], wish);
  };
  return (
    <section class="sheet" aria-labelledby="wiggle-heading">
      <h2 id="wiggle-heading">Wiggle test</h2>
      {taking ? (
        <Wiggling job={job} />
      ) : (
        <details>
          <summary>A tone follows the level</summary>
          <div class="row-body">
            <p>
              Clip the meter on, start, have the set keyed, and work along the harness: the tone jumps where a contact
              moves. Nobody reaches past belts or fans with the engine running.
            </p>
            <PlaceFields job={job} place={place.value} onPlace={(next) => (place.value = next)} />
            <button type="button" class="main-action" disabled={!isPlaced(place.value)} onClick={() => void begin()}>
              Start the tone and the log
            </button>
          </div>
        </details>
      )}
    </section>
  );
}

function Wiggling({ job }: { job: Job }) {
  const taking = reading.value!;
  const [{ meter, place }] = taking.placed as [(typeof taking.placed)[0]];
  const what = useSignal("");
  const marks = useSignal(0);
  const mark = () => {
    taking.mark(what.value.trim() || "wiggled");
    marks.value++;
  };
  return (
    <>
      <p>{placeOf(job, place)}</p>
      <LiveValue meter={meter} />
      <TextField
        label="What is being wiggled"
        value={what.value}
        hint="It is written beside the mark: plug, fuse holder, ground stud"
        onValue={(value) => (what.value = value)}
      />
      <div class="actions">
        <button type="button" class="main-action" onClick={mark}>
          Mark this moment
        </button>
        <button type="button" onClick={() => (toneOn.value ? stopTone() : startTone())}>
          {toneOn.value ? "Tone off" : "Tone on"}
        </button>
        <button
          type="button"
          onClick={() => {
            stopTone();
            void endReading();
          }}
        >
          Stop, keep the log
        </button>
      </div>
      <p role="status">{marks.value > 0 && `${marks.value} marked.`}</p>
    </>
  );
}
