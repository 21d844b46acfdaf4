/** The cautions of a step: the first ones in sight, the others one tap away. */
import type { Caution } from "../../analysis/index.ts";

/** More at once are not read under a dash. */
const openCautions = 2;

export function CautionList({ cautions }: { cautions: readonly Caution[] }) {
  const items = (some: readonly Caution[]) => some.map(({ text }) => <li key={text}>{text}</li>);
  return (
    <>
      <ul class="cautions" aria-label="Take care">
        {items(cautions.slice(0, openCautions))}
      </ul>
      {cautions.length > openCautions && (
        <details class="cautions">
          <summary>{cautions.length - openCautions} more to take care of</summary>
          <ul>{items(cautions.slice(openCautions))}</ul>
        </details>
      )}
    </>
  );
}
