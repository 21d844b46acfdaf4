/** A record from elsewhere, checked: does what it prints follow from the logs inside, and is it as it was signed. */
import { useSignal } from "@preact/signals";
import type { RecordCheck } from "../../analysis/index.ts";
import { FileButton } from "../pieces/file-button.tsx";
import { shopKey } from "../record/shop-key.ts";
import { analyst } from "../worker/workers.ts";

export function CheckRecord() {
  const said = useSignal("");
  const trouble = useSignal<string | null>(null);
  const check = useSignal<RecordCheck | null>(null);
  const look = async (file: File) => {
    [check.value, trouble.value] = [null, null];
    said.value = `Working ${file.name} out again …`;
    try {
      check.value = await analyst().checkGivenRecord(file);
    } catch (error) {
      trouble.value = (error as Error).message;
    }
    said.value = "";
  };
  return (
    <details class="sheet">
      <summary>Check a record</summary>
      <div class="row-body">
        <p class="field-note">
          Everything is worked out again from the logs inside the PDF and held against what is printed.
        </p>
        <FileButton words="Open a record" accept="application/pdf,.pdf" onFiles={([file]) => void look(file!)} />
        <p role="status">{said.value}</p>
        {trouble.value && (
          <p class="notice notice-bad" role="alert">
            {trouble.value}
          </p>
        )}
        {check.value && <CheckResult check={check.value} />}
      </div>
    </details>
  );
}

function CheckResult({ check }: { check: RecordCheck }) {
  const { follows, differences, files, madeOn, programVersion, signature } = check;
  return (
    <div role="status" class="stack">
      <p>
        <strong>
          {follows
            ? `Everything printed follows from the ${files} files inside.`
            : `Not everything follows from the ${files} files inside.`}
        </strong>{" "}
        Made on {madeOn} by version {programVersion}. {signature ? signatureWords(signature) : "Not signed with a key."}
      </p>
      {differences.length > 0 && (
        <ul class="notes">
          {differences.map((difference) => (
            <li key={difference}>{difference}</li>
          ))}
        </ul>
      )}
    </div>
  );
}

function signatureWords({ publicKey, fits }: NonNullable<RecordCheck["signature"]>): string {
  if (!fits) return `NOT as it was signed with the key ${publicKey}.`;
  return publicKey === shopKey.value?.x ? "Signed with this shop’s key." : `Signed with the key ${publicKey}.`;
}
