/** The forecast against what the repair gave: volts at the set, keyed, engine off, and whether the repair held. */
import { type Comparison, type Q, type RoundDiagnosis, withInterval } from "../../analysis/index.ts";
import { openJob } from "../job/open-job.ts";
import { TableFrame } from "../pieces/table-frame.tsx";
import { addressOf } from "../routes.ts";

interface OutcomeProps {
  /** the last round measured before the repair; null: none was */
  readonly earlier: RoundDiagnosis | null;
  readonly now: RoundDiagnosis | null;
  readonly comparison: Comparison | null;
}

export function Outcome({ earlier, now, comparison }: OutcomeProps) {
  const forecast = earlier?.findings[0]?.afterRepair.loadVolts ?? null;
  const was = keyedVolts(earlier);
  const is = keyedVolts(now);
  const compared = comparison && now && comparison.to === now.round ? comparison : null;
  return (
    <section class="sheet outcome" aria-labelledby="outcome-heading">
      <h2 id="outcome-heading">Forecast and outcome</h2>
      <p role="status">
        <strong>{heldWords(compared, is !== null)}</strong>
      </p>
      <TableFrame label="Volts at the set, keyed, engine off">
        <thead>
          <tr>
            <th scope="col">At the set, keyed, engine off</th>
            <th scope="col">Volts</th>
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">Before the repair</th>
            <td class="figure">{withInterval(was, "V")}</td>
          </tr>
          <tr>
            <th scope="row">Should read after the repair</th>
            <td class="figure">{withInterval(forecast, "V")}</td>
          </tr>
          <tr>
            <th scope="row">Measures now</th>
            <td class="figure">{withInterval(is, "V")}</td>
          </tr>
          {compared?.loadVoltsGained && (
            <tr>
              <th scope="row">Gained, at the same battery and current</th>
              <td class="figure">{withInterval(compared.loadVoltsGained, "V")}</td>
            </tr>
          )}
        </tbody>
      </TableFrame>
      <p class="field-note">
        The forecast holds for the battery as it was then: on another day it reads higher or lower, which the gain
        allows for.
      </p>
      {is === null && (
        <a
          class="button main-action"
          href={addressOf(openJob.value!.id, "measure", {
            type: "1",
            from: "load+",
            to: "load-",
            engine: "off",
            radio: "transmit",
          })}
        >
          Read the volts at the set now
        </a>
      )}
    </section>
  );
}

/** As the forecast is: keyed, engine off. */
const keyedVolts = (round: RoundDiagnosis | null): Q =>
  round?.states.find(({ engine, radio }) => engine === "off" && radio === "transmit")?.loadVolts ?? null;

function heldWords(comparison: Comparison | null, isRead: boolean): string {
  if (!isRead) return "Not measured again yet.";
  if (!comparison || comparison.repairHeld === null) return "Whether the repair held cannot be told yet.";
  return comparison.repairHeld ? "The repair held." : "The repair did not give what was forecast.";
}
