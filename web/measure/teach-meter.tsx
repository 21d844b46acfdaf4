/**
 * A meter is taught: what its display shows is typed a few times while it measures; the worker looks for how the number
 * travels, says how sure it is and what to type next; the recipe is then proven on the stream before it is trusted.
 */
import { type Signal, useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import {
  type MeterUnit,
  type Proof,
  proofOf,
  type Recipe,
  type Taught,
  type TeachInput,
} from "../../analysis/index.ts";
import { written } from "../meter/byte-log.ts";
import { keepMeter } from "../meter/kept-meters.ts";
import type { LiveMeter } from "../meter/live-meter.ts";
import { meterNow } from "../meter/meter-clock.ts";
import { ChoiceField, parseNumber, TextField } from "../pieces/fields.tsx";
import { NumberPad } from "../pieces/number-pad.tsx";
import { clerk } from "../worker/workers.ts";
import { LiveValue } from "./meter-panel.tsx";

type Typed = TeachInput["typed"][number];

/** From so many typed values on it is looked for. */
const leastTyped = 3;
/** As sure as this it may be proven. */
const sureEnough = 0.9;

export function TeachMeter({ meter, onDone, onBack }: { meter: LiveMeter; onDone: () => void; onBack: () => void }) {
  const typed = useSignal<readonly Typed[]>([]);
  const taught = useSignal<Taught | null>(null);
  const looking = useSignal(false);
  const trouble = useSignal<string | null>(null);
  const look = async () => {
    if (typed.value.length < leastTyped || looking.value) return;
    looking.value = true;
    trouble.value = null;
    const asked = typed.value.length;
    try {
      const found = await clerk().teach(lesson(meter, typed.value));
      taught.value = found;
      if (found.recipe) meter.use(found.recipe, meter.label.value);
    } catch (error) {
      trouble.value = (error as Error).message;
    }
    looking.value = false;
    if (typed.value.length !== asked) void look();
  };
  const add = (entry: Typed) => {
    typed.value = [...typed.value, entry];
    void look();
  };
  const remove = (place: number) => {
    typed.value = typed.value.filter((_, index) => index !== place);
    void look();
  };
  return (
    <section class="sheet" aria-labelledby="teach-heading">
      <h2 id="teach-heading">Teach this meter</h2>
      <Arriving meter={meter} />
      <p>
        Let it measure something that changes: a battery, a lamp’s leads, nothing. As soon as its display stands still,
        type what it shows. Three to six values are enough.
      </p>
      <TypeValue onTyped={add} />
      {typed.value.length > 0 && <TypedValues typed={typed.value} onRemove={remove} />}
      <div role="status">
        {looking.value && <p>Looking for how the number travels …</p>}
        {!looking.value && taught.value && <Outcome taught={taught.value} meter={meter} />}
        {typed.value.length > 0 && typed.value.length < leastTyped && (
          <p>{leastTyped - typed.value.length} more, unlike those before.</p>
        )}
      </div>
      {trouble.value && (
        <p class="notice notice-bad" role="alert">
          {trouble.value}
        </p>
      )}
      {taught.value?.recipe && taught.value.sure >= sureEnough && !looking.value && (
        <Prove key={typed.value.length} meter={meter} recipe={taught.value.recipe} onDone={onDone} />
      )}
      <button type="button" class="plain" onClick={onBack}>
        Back without it
      </button>
    </section>
  );
}

/** A lesson that took long is told by what came about each typed value, and by the latest: more says no more. */
const wholeLessonSeconds = 75;
const beforeTypedSeconds = 8;
const afterTypedSeconds = 2;
const latestSeconds = 20;

function lesson(meter: LiveMeter, typed: readonly Typed[]): TeachInput {
  const [first, now] = [typed[0]!.seconds, meterNow()];
  const telling = (seconds: number): boolean =>
    now - first < wholeLessonSeconds
      ? seconds > first - latestSeconds
      : seconds > now - latestSeconds ||
        typed.some(
          (entry) => seconds > entry.seconds - beforeTypedSeconds && seconds < entry.seconds + afterTypedSeconds,
        );
  const bytes = meter.heard
    .filter(({ seconds }) => telling(seconds))
    .map(written)
    .map(({ seconds, base64 }) => ({ seconds, base64 }));
  return { format: "teach/1", bytes, typed: [...typed] };
}

function Arriving({ meter }: { meter: LiveMeter }) {
  const count = useSignal(meter.chunks);
  useEffect(() => {
    const timer = setInterval(() => (count.value = meter.chunks), 500);
    return () => clearInterval(timer);
  }, [meter]);
  const last = meter.heard.at(-1)?.bytes.subarray(0, 24);
  if (!last) return <p class="notice">Nothing has come from the meter yet: press its button for the link.</p>;
  const figures = Array.from(last, (byte) => byte.toString(16).padStart(2, "0")).join(" ");
  return (
    <p class="field-note">
      It sends: {count.value} pieces so far. The latest begins <code>{figures}</code>
    </p>
  );
}

function TypeValue({ onTyped }: { onTyped: (entry: Typed) => void }) {
  const text = useSignal("");
  const unit = useSignal<MeterUnit>("V");
  const said = useSignal("");
  const keep = () => {
    const value = parseNumber(text.value);
    if (value === null) {
      said.value = "Type the number that the display shows, as 12.47.";
      return;
    }
    onTyped({ seconds: meterNow(), value, unit: unit.value });
    said.value = "";
    text.value = "";
  };
  return (
    <>
      <NumberPad
        label="The display shows"
        text={text.value}
        unit={unit.value}
        onUnit={null}
        onText={(next) => (text.value = next)}
        onEnter={keep}
      />
      <div class="fields">
        <ChoiceField
          label="Unit on the display"
          value={unit.value}
          choices={(["V", "mV", "A", "mA"] as const).map((each) => [each, each])}
          onValue={(value) => (unit.value = value as MeterUnit)}
        />
      </div>
      <div class="actions">
        <button type="button" class="main-action" onClick={keep}>
          It shows this now
        </button>
        <button type="button" onClick={() => onTyped({ seconds: meterNow(), overRange: true })}>
          It shows over range
        </button>
      </div>
      <p role="alert" class="field-note" data-wrong="true">
        {said.value}
      </p>
    </>
  );
}

function TypedValues({ typed, onRemove }: { typed: readonly Typed[]; onRemove: (place: number) => void }) {
  return (
    <ul class="measured" aria-label="Typed so far">
      {typed.map((entry, place) => (
        <li key={entry.seconds}>
          <span>{wordsOf(entry)}</span>
          <button type="button" aria-label={`Delete ${wordsOf(entry)}`} onClick={() => onRemove(place)}>
            Delete
          </button>
        </li>
      ))}
    </ul>
  );
}

const wordsOf = (entry: Typed): string => ("value" in entry ? `${entry.value} ${entry.unit}` : "over range");

function Outcome({ taught, meter }: { taught: Taught; meter: LiveMeter }) {
  const percent = Math.floor(taught.sure * 100);
  return (
    <>
      {taught.recipe ? (
        <>
          <p>
            {taught.sure >= sureEnough ? "Found" : "Perhaps found"}: {percent >= 99 ? "over 99" : percent} % sure. It
            now reads
          </p>
          <LiveValue meter={meter} />
        </>
      ) : (
        <p>Nothing explains these values yet.</p>
      )}
      {taught.ask && <p class="next-state">{taught.ask}</p>}
    </>
  );
}

function Prove({ meter, recipe, onDone }: { meter: LiveMeter; recipe: Recipe; onDone: () => void }) {
  const name = useSignal("");
  const proof = useProof(meter, recipe);
  const keep = async () => {
    const label = name.value.trim() || "Taught meter";
    const channels = new Set(meter.heard.flatMap(({ channel }) => channel ?? []));
    const [characteristic] = channels;
    const reach = meter.reach && { ...meter.reach, ...(channels.size === 1 ? { characteristic } : {}) };
    await keepMeter({ label, recipe: { ...recipe, label }, ...(reach ? { link: reach } : {}) });
    meter.use({ ...recipe, label }, label);
    onDone();
  };
  const { against, proven, readings } = proof.value;
  return (
    <div class="prove">
      <h3>Proven on the meter itself</h3>
      {against ? (
        <p role="alert">{against} Type another value, unlike those before.</p>
      ) : proven ? (
        <p>
          {readings} readings in a row without a fault. Compare once more: the display and the number above must be the
          same.
        </p>
      ) : (
        <p>Being held against what comes: {readings} readings so far.</p>
      )}
      <TextField
        label="Name it"
        value={name.value}
        hint="As the shop calls it: handheld 2"
        onValue={(value) => (name.value = value)}
      />
      <button type="button" class="main-action" disabled={!proven} onClick={() => void keep()}>
        They are the same: keep it
      </button>
    </div>
  );
}

function useProof(meter: LiveMeter, recipe: Recipe): Signal<Proof> {
  const proof = useSignal(proofOf(recipe, meter.heard));
  useEffect(() => {
    const timer = setInterval(() => (proof.value = proofOf(recipe, meter.heard)), 700);
    return () => clearInterval(timer);
  }, [meter, recipe]);
  return proof;
}
