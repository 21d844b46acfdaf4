/**
 * The figures of a run, printed: shares by cause and by evidence, calibration, coverage, time.
 */
import type { Evidence, TrueRound } from "../../fixtures/recipe/truth.ts";
import type { Coverage } from "./coverage.ts";
import type { Judgement } from "./judge.ts";
import {
  brierScore,
  calibrationBins,
  expectedCalibrationError,
  type Forecast,
  logScore,
  mean,
  quantile,
} from "./scores.ts";

export interface Judged {
  readonly seed: number;
  readonly evidence: Evidence;
  readonly round: TrueRound;
  readonly program: Judgement;
  readonly textbook: Judgement;
  /** the rule that knows the battery's and the charging's figures, too */
  readonly fullTextbook: Judgement;
  readonly milliseconds: number;
}

export interface Run {
  readonly judged: readonly Judged[];
  readonly firstFindings: readonly Forecast[];
  readonly allFindings: readonly Forecast[];
  readonly givenToTruth: readonly number[];
  readonly coverage: Coverage;
  readonly failed: readonly string[];
}

const percent = (share: number) => (Number.isNaN(share) ? "  –   " : `${(100 * share).toFixed(1).padStart(5)}%`);
const share = (items: readonly Judged[], test: (item: Judged) => boolean) =>
  mean(items.map((item) => Number(test(item))));

export const kindOf = (round: TrueRound): string =>
  round.faults.length > 1 ? "two faults" : (round.faults[0]?.cause ?? "supply-sound");

export function printRun(run: Run): void {
  const { judged } = run;
  console.log(`\n${judged.length} jobs; right = cause and exactly the parts that the readings cannot tell apart;`);
  console.log(
    "within = the true part listed and none that a reading rules out; textbook = the trade's drop limits on the true volts\n",
  );
  printTable(
    "by cause",
    groups(judged, (item) => kindOf(item.round)),
  );
  printTable(
    "by evidence",
    groups(judged, (item) => item.evidence),
  );
  printTable(
    "by size of drop",
    groups(
      judged.filter((item) => sizeOf(item) !== null),
      (item) => sizeOf(item)!,
    ),
  );
  printTotals(judged);
  printCalibration(run);
  printCoverage(run.coverage);
  const times = judged.map(({ milliseconds }) => milliseconds);
  console.log(
    `\ntime a diagnosis: median ${quantile(times, 0.5).toFixed(0)} ms, 95 % ${quantile(times, 0.95).toFixed(0)} ms, worst ${Math.max(...times).toFixed(0)} ms`,
  );
  for (const line of run.failed) console.log(`could not be diagnosed: ${line}`);
}

function groups(judged: readonly Judged[], key: (item: Judged) => string): Map<string, Judged[]> {
  const found = new Map<string, Judged[]>();
  for (const item of judged) found.set(key(item), [...(found.get(key(item)) ?? []), item]);
  return new Map([...found].sort(([a], [b]) => a.localeCompare(b)));
}

function sizeOf({ round }: Judged): string | null {
  const fault = round.faults[0];
  if (round.faults.length !== 1 || fault?.cause !== "high-resistance-connection") return null;
  if (fault.dropVolts < 0.15) return "80 to 150 mV";
  if (fault.dropVolts < 0.3) return "150 to 300 mV";
  return fault.dropVolts < 1 ? "300 mV to 1 V" : "above 1 V";
}

function printTable(title: string, rows: Map<string, Judged[]>): void {
  console.log(`${title.padEnd(30)} jobs   right  within   cause  undecided   textbook right  within`);
  for (const [name, items] of rows) {
    const cells = [
      percent(share(items, ({ program }) => program.exact)),
      percent(share(items, ({ program }) => program.within)),
      percent(share(items, ({ program }) => program.causeRight)),
      `   ${percent(share(items, ({ program }) => program.undecided))}`,
      `          ${percent(share(items, ({ textbook }) => textbook.exact))}`,
      percent(share(items, ({ textbook }) => textbook.within)),
    ];
    console.log(`${name.padEnd(30)} ${String(items.length).padStart(4)}  ${cells.join("  ")}`);
  }
  console.log("");
}

function printTotals(judged: readonly Judged[]): void {
  const sound = judged.filter(({ round }) => kindOf(round) === "supply-sound");
  const faulty = judged.filter(({ round }) => kindOf(round) !== "supply-sound");
  const two = judged.filter(({ program }) => program.bothFound !== null);
  const line = (name: string, pick: (item: Judged) => Judgement) =>
    console.log(
      `${name.padEnd(10)} right ${percent(share(judged, (item) => pick(item).exact))}  within ${percent(share(judged, (item) => pick(item).within))}` +
        `  false alarms ${percent(share(sound, (item) => pick(item).falseAlarm))} of ${sound.length}` +
        `  faults missed ${percent(share(faulty, (item) => pick(item).missed))} of ${faulty.length}` +
        `  both of two found ${percent(share(two, (item) => pick(item).bothFound === true))} of ${two.length}`,
    );
  line("program", ({ program }) => program);
  line("textbook", ({ textbook }) => textbook);
  line("  + source", ({ fullTextbook }) => fullTextbook);
}

function printCalibration(run: Run): void {
  const line = (name: string, forecasts: readonly Forecast[]) =>
    console.log(
      `${name.padEnd(15)} calibration error ${expectedCalibrationError(forecasts).toFixed(3)}  Brier ${brierScore(forecasts).toFixed(3)}  (${forecasts.length})`,
    );
  console.log("");
  line("first findings", run.firstFindings);
  line("all findings", run.allFindings);
  console.log(`log score ${logScore(run.givenToTruth).toFixed(3)} (mean −ln of what the true fault was given)`);
  console.log("said          findings   mean said   were right");
  for (const bin of calibrationBins(run.allFindings))
    console.log(
      `${bin.low.toFixed(1)} to ${bin.high.toFixed(1)}    ${String(bin.count).padStart(8)}      ${percent(bin.meanProbability)}       ${percent(bin.shareRight)}`,
    );
}

function printCoverage(coverage: Coverage): void {
  const held = (name: string, values: readonly boolean[]) =>
    console.log(`${name.padEnd(42)} ${percent(mean(values.map(Number)))} of ${values.length}`);
  console.log("\n95 % intervals that hold the truth");
  held("  ohms of parts", coverage.partOhms);
  held("  ohms of parts at fault", coverage.faultOhms);
  held("  volts at the load, each state", coverage.loadVolts);
  const rms = Math.sqrt(mean(coverage.singledOut.map((error) => error * error)));
  console.log(
    `  ohms of a part at fault that is singled out: rms of ln(stated/true) ${rms.toFixed(3)} (${coverage.singledOut.length})`,
  );
}
