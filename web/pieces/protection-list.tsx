/** What protects the wiring: each check with its answer in a word and a mark, not by colour alone. */
import type { ProtectionCheck } from "../../analysis/index.ts";
import { partName } from "../words/plain-words.ts";

const answers = {
  true: { mark: "✓", word: "in order" },
  false: { mark: "✗", word: "not in order" },
  null: { mark: "?", word: "cannot tell" },
};

export function ProtectionList({ checks }: { checks: readonly ProtectionCheck[] }) {
  if (checks.length === 0) return null;
  const failed = checks.filter(({ pass }) => pass === false);
  const open = checks.filter(({ pass }) => pass === null);
  const passed = checks.filter(({ pass }) => pass === true);
  return (
    <section class="sheet" aria-labelledby="protection-heading">
      <h2 id="protection-heading">Fuse and wire protection</h2>
      <p>
        {failed.length === 0 ? "Nothing found against it" : `${failed.length} of ${checks.length} checks not in order`}
        {open.length > 0 ? `; ${open.length} cannot be told yet.` : "."}
      </p>
      <CheckList checks={failed} />
      <CheckList checks={open} />
      {passed.length > 0 && (
        <details>
          <summary>{passed.length} in order</summary>
          <CheckList checks={passed} />
        </details>
      )}
    </section>
  );
}

function CheckList({ checks }: { checks: readonly ProtectionCheck[] }) {
  if (checks.length === 0) return null;
  return (
    <ul class="checks">
      {checks.map((check) => {
        const { mark, word } = answers[`${check.pass}`];
        return (
          <li key={`${check.part} ${check.check}`} class={`check check-${check.pass}`}>
            <span class="check-mark" aria-hidden="true">
              {mark}
            </span>
            <details>
              <summary>
                <span>
                  <span class="out-of-sight">{word}: </span>
                  {partName({ id: check.part })}: {check.check}
                </span>
              </summary>
              <p>{check.detail}</p>
              <p class="field-note">{check.source}</p>
            </details>
          </li>
        );
      })}
    </ul>
  );
}
