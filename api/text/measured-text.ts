/** What was measured: volts and amps in each state, the battery, and what was made of each log. */
import {
  engineWords,
  fixed,
  type Q,
  type RecordingEntry,
  type RoundDiagnosis,
  radioWords,
  withInterval,
} from "../../analysis/index.ts";
import { wrapped } from "./page.ts";

/** Only what is known, each figure behind its name. */
const known = (figures: readonly (readonly [string, Q, "V" | "A" | "Ω"])[]) =>
  figures
    .flatMap(([name, quantity, unit]) => (quantity === null ? [] : `${name} ${withInterval(quantity, unit)}`))
    .join("; ");

export function stateLines({ states, source }: RoundDiagnosis): string[] {
  const battery = known([
    ["at rest", source.openCircuitVolts, "V"],
    ["own resistance", source.ohms, "Ω"],
    ["engine running", source.runningVolts, "V"],
  ]);
  const lines = states.flatMap((state) => {
    const figures = known([
      ["battery", state.batteryVolts, "V"],
      ["set", state.loadVolts, "V"],
      ["current", state.amps, "A"],
      ["lost on the feed side", state.supplyDropVolts, "V"],
      ["lost on the ground side", state.returnDropVolts, "V"],
    ]);
    const name = `${radioWords[state.radio]}, ${engineWords[state.engine]}`;
    return wrapped("  - ", `${name}: ${figures || "too little to tell"}`);
  });
  return [...lines, ...(battery === "" ? [] : wrapped("  - ", `battery: ${battery}`))];
}

export function logLines({ recordings }: RoundDiagnosis): string[] {
  return recordings.flatMap((recording) => [
    ...wrapped("  - ", logWords(recording)),
    ...recording.warnings.flatMap((warning) => wrapped("      ", warning)),
  ]);
}

function logWords(recording: RecordingEntry): string {
  const { file, column, samples, rejectedRows, offsetSeconds, offsetUncertaintySeconds, events, blindBelowSeconds } =
    recording;
  const count = (kind: string) => events.filter((event) => event.kind === kind).length;
  const times = (number: number) => (number < 3 ? ["never", "once", "twice"][number] : `${number} times`);
  const sameClock = Math.hypot(offsetSeconds ?? 0, offsetUncertaintySeconds ?? 0) < 0.005;
  const clock =
    offsetSeconds === null || sameClock
      ? ""
      : `clock ${fixed(offsetSeconds, 2)} s ± ${fixed(2 * (offsetUncertaintySeconds ?? 0), 2)} s against the first log's`;
  return [
    `${file} (${column}): ${samples} values`,
    rejectedRows > 0 ? `${rejectedRows} ${rejectedRows === 1 ? "row" : "rows"} left out` : "",
    count("keyed") > 0 ? `keyed ${times(count("keyed"))}` : "",
    count("engine-start") > 0 ? `engine started ${times(count("engine-start"))}` : "",
    count("load-reset") > 0 ? `the set let go ${times(count("load-reset"))}` : "",
    count("contact-break") > 0 ? `a contact opened or shifted ${times(count("contact-break"))}` : "",
    clock,
    blindBelowSeconds ? `dips shorter than ${Number(blindBelowSeconds.toPrecision(2))} s can have passed unseen` : "",
  ]
    .filter((words) => words !== "")
    .join("; ");
}
