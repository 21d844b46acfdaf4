/** Before and after: whether the repair held, what the set gained, and each part's change. */
import { type Comparison, type Job, percent, valueForPrint, withInterval } from "../../analysis/index.ts";
import { PartBarsView } from "../pieces/part-bars-view.tsx";
import { TableFrame } from "../pieces/table-frame.tsx";
import { nameOfPart } from "../words/reading-words.ts";

export function RoundComparison({ document, comparison }: { document: Job; comparison: Comparison }) {
  const { from, to, loadVoltsGained, parts, repairHeld } = comparison;
  const answer =
    repairHeld === null
      ? "Whether the repair held cannot be told yet."
      : repairHeld
        ? "The repair held."
        : "The repair did not give what was forecast.";
  return (
    <section class="sheet" aria-labelledby="comparison-heading">
      <h2 id="comparison-heading">
        From {from} to {to}
      </h2>
      <p>
        <strong>{answer}</strong>{" "}
        {loadVoltsGained && (
          <>
            The set gained <strong class="figure">{withInterval(loadVoltsGained, "V")}</strong> keyed.
          </>
        )}
      </p>
      <PartBarsView job={document} comparison={comparison} />
      <TableFrame label="Each part before and after">
        <thead>
          <tr>
            <th scope="col">Part</th>
            <th scope="col">{from}</th>
            <th scope="col">{to}</th>
            <th scope="col">Really changed</th>
          </tr>
        </thead>
        <tbody>
          {parts.map((part) => (
            <tr key={part.id}>
              <th scope="row">{nameOfPart(document, part.id)}</th>
              <td>{valueForPrint(part.ohmsBefore, "Ω")}</td>
              <td>{valueForPrint(part.ohmsAfter, "Ω")}</td>
              <td>{percent(part.changeIsReal)}</td>
            </tr>
          ))}
        </tbody>
      </TableFrame>
    </section>
  );
}
