/** How a meter speaks: found by itself where a known recipe reads it, chosen, taken over from a file or a code, or taught. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { type BuiltInRecipe, builtInRecipes, fitOf, fittingRecipe, type Recipe } from "../../analysis/index.ts";
import { fullUuid } from "../meter/bluetooth-stream.ts";
import { keepMeter, keptMeters, listKeptMeters, parseRecipeText } from "../meter/kept-meters.ts";
import type { LiveMeter } from "../meter/live-meter.ts";
import { ChoiceField } from "../pieces/fields.tsx";
import { FileButton } from "../pieces/file-button.tsx";
import { CodeReader, canReadCodes } from "./code-reader.tsx";
import { nameOf } from "./live-state.ts";
import { RecipeShare } from "./recipe-share.tsx";
import { TeachMeter } from "./teach-meter.tsx";

interface Offer {
  readonly id: string;
  readonly words: string;
  readonly recipe: Recipe;
}

const lookEveryMilliseconds = 700;
/** So many of the latest pieces say how a meter speaks. */
const piecesLookedAt = 200;

export function RecipeChoice({ meter, onDone }: { meter: LiveMeter; onDone: () => void }) {
  const found = useSignal<Offer | null>(null);
  const teaching = useSignal(false);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    void listKeptMeters();
    const timer = setInterval(() => {
      found.value = fittingRecipe(offersFor(meter), meter.heard.slice(-piecesLookedAt));
    }, lookEveryMilliseconds);
    return () => clearInterval(timer);
  }, [meter]);
  const use = ({ recipe, words }: Pick<Offer, "recipe" | "words">) => {
    meter.use(recipe, words);
    onDone();
  };
  const takeOver = async (text: string, file: string) => {
    trouble.value = null;
    try {
      const { recipe, label, link } = parseRecipeText(text, file);
      await keepMeter({ recipe, label, link });
      use({ recipe, words: label });
    } catch (error) {
      trouble.value = (error as Error).message;
    }
  };
  if (teaching.value) return <TeachMeter meter={meter} onDone={onDone} onBack={() => (teaching.value = false)} />;
  return (
    <section class="sheet" aria-labelledby="speaks-heading">
      <h2 id="speaks-heading">How it speaks</h2>
      <FoundRecipe meter={meter} found={found.value} onUse={use} />
      <div class="actions">
        <button type="button" class={found.value ? "" : "main-action"} onClick={() => (teaching.value = true)}>
          Teach it: type what its display shows
        </button>
      </div>
      <details>
        <summary>Choose, or take over from somebody</summary>
        <div class="row-body">
          <Known meter={meter} onUse={use} />
          <div class="actions">
            <FileButton
              words="Open a recipe file"
              onFiles={([file]) => void file!.text().then((text) => takeOver(text, file!.name))}
            />
          </div>
          {canReadCodes && <CodeReader onText={(text) => void takeOver(text, "QR code")} />}
        </div>
      </details>
      {trouble.value && (
        <p class="notice notice-bad" role="alert">
          {trouble.value}
        </p>
      )}
      {meter.recipe.value && <RecipeShare meter={meter} />}
    </section>
  );
}

function FoundRecipe({
  meter,
  found,
  onUse,
}: {
  meter: LiveMeter;
  found: Offer | null;
  onUse: (offer: Offer) => void;
}) {
  if (!found) {
    return (
      <p role="status">
        {meter.chunks === 0
          ? "Nothing has come from the meter yet. Some meters send only after a button for their link was pressed."
          : "It sends, but in no way that is known here yet."}
      </p>
    );
  }
  const { last } = fitOf(found.recipe, meter.heard.slice(-piecesLookedAt));
  return (
    <div class="found-recipe">
      <p role="status">
        {found.words}: it reads{" "}
        <strong>
          {last?.value} {last?.unit}
        </strong>
        . Does the display show the same?
      </p>
      <button type="button" class="main-action" onClick={() => onUse(found)}>
        Yes, read it so
      </button>
    </div>
  );
}

function Known({ meter, onUse }: { meter: LiveMeter; onUse: (offer: Offer) => void }) {
  const offers = [...kept(), ...builtInRecipes];
  const chosen = useSignal(offers[0]?.id ?? "");
  const offer = offers.find(({ id }) => id === chosen.value);
  return (
    <>
      <ChoiceField
        label="Known here"
        value={chosen.value}
        choices={offers.map(({ id, words }) => [id, words] as const)}
        onValue={(id) => (chosen.value = id)}
      />
      <button type="button" disabled={!offer} onClick={() => offer && onUse(offer)}>
        Read {nameOf(meter)} with it
      </button>
    </>
  );
}

const kept = (): Offer[] => keptMeters.value.map(({ id, label, recipe }) => ({ id, words: label, recipe }));

/** What may fit without being asked: kept meters first, then open standards. A Bluetooth characteristic says what it is. */
function offersFor(meter: LiveMeter): Offer[] {
  const channel = meter.heard.at(-1)?.channel;
  const fits = ({ characteristic, recipe }: BuiltInRecipe) =>
    characteristic === undefined
      ? !recipe.ask && recipe.framing.kind !== "packet"
      : channel === fullUuid(characteristic);
  return [...kept(), ...builtInRecipes.filter(fits)];
}
