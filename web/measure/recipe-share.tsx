/** A recipe passed on: as a file, or as a code for another phone's camera. */
import { useSignal } from "@preact/signals";
import { saveFile } from "../job/save-file.ts";
import { qrText, recipeText } from "../meter/kept-meters.ts";
import type { LiveMeter } from "../meter/live-meter.ts";
import { QrCode } from "../pieces/qr-code.tsx";

/** Bytes that the largest QR code holds at its lowest correction (ISO/IEC 18004, table 7; from memory). */
const codeBytesAtMost = 2_953;

export function RecipeShare({ meter }: { meter: LiveMeter }) {
  const open = useSignal(false);
  const recipe = meter.recipe.value;
  if (!recipe) return null;
  const shared = { recipe, label: meter.label.value, ...(meter.reach ? { link: meter.reach } : {}) };
  const text = qrText(shared);
  const save = () =>
    saveFile(`${shared.label.replaceAll(/[^\w.-]+/g, "-") || "meter"}.recipe.json`, recipeText(shared));
  return (
    <details>
      <summary>Pass it on to the shop</summary>
      <div class="row-body">
        <p class="field-note">Taught once, it reads every meter of this kind on every phone.</p>
        <div class="actions">
          <button type="button" onClick={save}>
            Save the recipe as a file
          </button>
          {text.length <= codeBytesAtMost && (
            <button type="button" onClick={() => (open.value = !open.value)}>
              {open.value ? "Hide the code" : "Show it as a QR code"}
            </button>
          )}
        </div>
        {open.value && <QrCode text={text} label={`Code with the recipe of ${shared.label}`} level="L" />}
      </div>
    </details>
  );
}
