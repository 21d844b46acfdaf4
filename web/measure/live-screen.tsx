/** Measuring live: the meters with their values, the reading that is being taken, the tone, and what was taken so far. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { diagnosis } from "../job/diagnosis-now.ts";
import { currentRound } from "../job/measuring.ts";
import { job, openJob } from "../job/open-job.ts";
import { heldAwake, hidden, wasHiddenSeconds } from "../meter/awake.ts";
import { listKeptMeters } from "../meter/kept-meters.ts";
import type { LiveMeter } from "../meter/live-meter.ts";
import { addressOf } from "../routes.ts";
import { MeasuredList } from "../screens/measured-list.tsx";
import { following } from "../storage/sync/following.ts";
import { firstReading } from "../words/reading-words.ts";
import { ConnectMeter } from "./connect-meter.tsx";
import { GuidedCard } from "./guided-card.tsx";
import { HelperInvitation } from "./helper-invitation.tsx";
import { endReading, liveTrouble, meters, metersAtMost, readable, reading } from "./live-state.ts";
import { FeedbackSwitches, MeterPanel } from "./meter-panel.tsx";
import { RecipeChoice } from "./recipe-choice.tsx";
import { WiggleCard } from "./wiggle-card.tsx";

export function LiveScreen() {
  const connecting = useSignal(false);
  const speaking = useSignal<LiveMeter | null>(null);
  useEffect(() => {
    void listKeptMeters();
    return () => void endReading();
  }, []);
  const document = job.value!;
  const round = currentRound.value;
  const found = diagnosis.value?.rounds.find((entry) => entry.round === round);
  const next = found ? (found.nextReadings[0] ?? null) : firstReading(document);
  const connected = meters.value;
  const asked = speaking.value && connected.includes(speaking.value) ? speaking.value : null;
  const taking = reading.value !== null;
  const justConnected = () => {
    connecting.value = false;
    speaking.value = meters.value.at(-1) ?? null;
  };
  return (
    <div class={`live ${taking ? "live-taking" : ""}`}>
      <div class="live-head">
        <h1>Measure live</h1>
        <a class="button" href={addressOf(openJob.value!.id, "measure")}>
          Done
        </a>
      </div>
      <div class="two-sheets">
        <div class="stack live-meters">
          <PageNotes />
          {connected.map((meter) => (
            <MeterPanel key={meter.id} meter={meter} small={taking} onSpeech={() => (speaking.value = meter)} />
          ))}
          {asked && <RecipeChoice key={asked.id} meter={asked} onDone={() => (speaking.value = null)} />}
          {(connecting.value || connected.length === 0) && <ConnectMeter onDone={justConnected} />}
          {!connecting.value && connected.length > 0 && connected.length < metersAtMost && !asked && !taking && (
            <button type="button" onClick={() => (connecting.value = true)}>
              Connect a second meter
            </button>
          )}
          {readable.value.length > 0 && !asked && <FeedbackSwitches />}
          {readable.value.length > 0 && !asked && following.value !== "no-server" && <HelperInvitation />}
        </div>
        {!asked && (
          <div class="stack">
            {liveTrouble.value && (
              <p class="notice notice-bad" role="alert">
                {liveTrouble.value}
              </p>
            )}
            <GuidedCard job={document} next={next} />
            <WiggleCard job={document} />
            <MeasuredList job={document} round={round} />
            {document.readings.length > 0 && (
              <a class="button main-action" href={addressOf(openJob.value!.id, "find")}>
                See the result
              </a>
            )}
          </div>
        )}
      </div>
    </div>
  );
}

/** What may silence a meter besides the meter: a page out of sight, a screen that goes dark. */
function PageNotes() {
  const away = wasHiddenSeconds.value;
  return (
    <div role="status">
      {hidden.value && (
        <p class="notice">This page is out of sight: the browser may hear the meter late or not at all.</p>
      )}
      {!hidden.value && away !== null && away > 2 && (
        <p class="notice">
          This page was out of sight for {Math.round(away)} s. What came then may be missing: repeat a reading that was
          being taken.{" "}
          <button type="button" onClick={() => (wasHiddenSeconds.value = null)}>
            Understood
          </button>
        </p>
      )}
      {heldAwake.value === false && (
        <p class="field-note">
          This browser lets the screen go dark: touch it now and then, or set the screen to stay on.
        </p>
      )}
    </div>
  );
}
