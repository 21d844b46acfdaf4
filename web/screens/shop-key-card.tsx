/** The shop's key: made here, shown so that it can be given out, carried to another device as a file. */
import { useSignal } from "@preact/signals";
import { saveFile } from "../job/save-file.ts";
import { FileButton } from "../pieces/file-button.tsx";
import { keyFileText, makeShopKey, shopKey, takeShopKey } from "../record/shop-key.ts";

export function ShopKeyCard() {
  const trouble = useSignal<string | null>(null);
  const key = shopKey.value;
  const tried = async (what: () => Promise<void>) => {
    trouble.value = null;
    try {
      await what();
    } catch (error) {
      trouble.value = (error as Error).message;
    }
  };
  return (
    <details class="sheet">
      <summary>The shop’s key{key ? "" : ": none yet"}</summary>
      <div class="row-body">
        <p class="field-note">
          With a key of its own the shop signs each PDF: one altered byte, and the signature no longer fits. Give out
          the public key (on the website, on the invoice), so that others can compare it.
        </p>
        {key && (
          <p>
            Public key: <code class="hash">{key.x}</code>
          </p>
        )}
        <div class="actions">
          {!key && (
            <button type="button" onClick={() => void tried(makeShopKey)}>
              Make a key
            </button>
          )}
          {key && (
            <button type="button" onClick={() => saveFile("shop-key.json", keyFileText(key))}>
              Save the key, keep it secret
            </button>
          )}
          <FileButton
            words={key ? "Use another key" : "Use a saved key"}
            accept="application/json,.json"
            onFiles={([file]) => void tried(() => takeShopKey(file!))}
          />
        </div>
        {trouble.value && (
          <p class="notice notice-bad" role="alert">
            {trouble.value}
          </p>
        )}
      </div>
    </details>
  );
}
