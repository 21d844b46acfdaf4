/** One connected meter: its value as large as it goes, how its link stands, and what to do where it does not. */
import { fixed } from "../../analysis/index.ts";
import { feedbackWish } from "../meter/feedback.ts";
import { linkWords } from "../meter/link-words.ts";
import type { LiveMeter } from "../meter/live-meter.ts";
import { dropMeter, nameOf } from "./live-state.ts";

/** @param small while a reading is taken its value stands large on the card: here only what is wrong */
export function MeterPanel({ meter, small, onSpeech }: { meter: LiveMeter; small: boolean; onSpeech: () => void }) {
  const { state, words, next } = linkWords(meter);
  const damaged = meter.damaged.value;
  return (
    <section class={`meter-panel meter-${state}`} aria-label={nameOf(meter)}>
      <p class="meter-label">{nameOf(meter)}</p>
      {meter.recipe.value && !small && <LiveValue meter={meter} />}
      <p class="meter-link" role={state === "bad" ? "alert" : "status"}>
        {words}
        {next && ` ${next}`}
      </p>
      {damaged > 0 && (
        <p class="field-note">
          {damaged} damaged {damaged === 1 ? "frame" : "frames"} left out, {meter.good.value} read.
        </p>
      )}
      {!small && (
        <div class="actions">
          <button type="button" class="plain" onClick={onSpeech}>
            {meter.recipe.value ? "How it speaks" : "Say how it speaks"}
          </button>
          <button type="button" class="plain" onClick={() => void dropMeter(meter)}>
            Disconnect
          </button>
        </div>
      )}
    </section>
  );
}

export function LiveValue({ meter }: { meter: LiveMeter }) {
  const shown = meter.shown.value;
  if (!shown) return <p class="live-value live-none">– –</p>;
  if (shown.value === null || shown.quantity === null) return <p class="live-value">over range</p>;
  return (
    <p class="live-value">
      <output>{fixed(shown.value, meter.decimals)}</output> <span>{shown.quantity === "volts" ? "V" : "A"}</span>
      {shown.held && <small> held</small>}
    </p>
  );
}

const switches: readonly (readonly [keyof typeof feedbackWish.value, string])[] = [
  ["sound", "Sound"],
  ["vibration", "Vibration"],
  ["speech", "Speak the reading"],
  ["bytes", "Keep the meter’s bytes with the log"],
];

export function FeedbackSwitches() {
  return (
    <details>
      <summary>Sound, vibration, voice</summary>
      <div class="switches">
        {switches.map(([name, words]) => (
          <label key={name} class="switch">
            <input
              type="checkbox"
              checked={feedbackWish.value[name]}
              onChange={(event) =>
                (feedbackWish.value = { ...feedbackWish.value, [name]: event.currentTarget.checked })
              }
            />
            <span>{words}</span>
          </label>
        ))}
      </div>
    </details>
  );
}
