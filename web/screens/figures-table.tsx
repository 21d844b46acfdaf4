/** The figures behind the picture: every part, and every state that was measured. */
import {
  engineWords,
  type Job,
  legWords,
  percent,
  type RoundDiagnosis,
  radioWords,
  type StateEntry,
  valueForPrint,
} from "../../analysis/index.ts";
import { TableFrame } from "../pieces/table-frame.tsx";
import { nameOfPart } from "../words/reading-words.ts";
import { capital } from "../words/shown.ts";

export function FiguresTable({ job, round }: { job: Job; round: RoundDiagnosis }) {
  return (
    <details class="sheet">
      <summary>Every part in figures</summary>
      <TableFrame label="Every part in figures">
        <thead>
          <tr>
            <th scope="col">Part</th>
            <th scope="col">Side</th>
            <th scope="col">Loses keyed</th>
            <th scope="col">Ohms</th>
            <th scope="col">Should be</th>
            <th scope="col">At fault</th>
          </tr>
        </thead>
        <tbody>
          {round.parts.map((part) => (
            <tr key={part.id}>
              <th scope="row">{nameOfPart(job, part.id)}</th>
              <td>{legWords[part.leg]}</td>
              <td>{valueForPrint(part.dropVolts, "V")}</td>
              <td>{valueForPrint(part.ohms, "Ω")}</td>
              <td>{valueForPrint(part.expectedOhms, "Ω")}</td>
              <td>{percent(part.faultProbability)}</td>
            </tr>
          ))}
        </tbody>
      </TableFrame>
    </details>
  );
}

export function StatesTable({ states }: { states: readonly StateEntry[] }) {
  if (states.length === 0) return null;
  const rows = [
    ["Current", (state: StateEntry) => valueForPrint(state.amps, "A")],
    ["At the battery", (state: StateEntry) => valueForPrint(state.batteryVolts, "V")],
    ["At the set", (state: StateEntry) => valueForPrint(state.loadVolts, "V")],
    ["Lost on the feed side", (state: StateEntry) => valueForPrint(state.supplyDropVolts, "V")],
    ["Lost on the ground side", (state: StateEntry) => valueForPrint(state.returnDropVolts, "V")],
  ] as const;
  return (
    <section class="sheet" aria-labelledby="states-heading">
      <h2 id="states-heading">Volts and amps</h2>
      <TableFrame label="Volts and amps in each state">
        <thead>
          <tr>
            <td />
            {states.map(({ engine, radio }) => (
              <th key={engine + radio} scope="col">
                {capital(radioWords[radio])}, {engineWords[engine]}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(([words, of]) => (
            <tr key={words}>
              <th scope="row">{words}</th>
              {states.map((state) => (
                <td key={state.engine + state.radio}>{of(state)}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </TableFrame>
    </section>
  );
}
