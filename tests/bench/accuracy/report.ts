/**
 * The figures of a run, printed: shares by cause and by evidence, then every figure beside the oracle's and beside what is
 * asked for, shifted priors, calibration, time.
 */
import type { TrueRound } from "../../fixtures/recipe/truth.ts";
import { type FigureOfRun, figuresOfRun } from "./figures.ts";
import type { Judgement } from "./judge.ts";
import type { JudgedJob } from "./judged-job.ts";
import { largeJobMilliseconds } from "./large-job.ts";
import { type PriorShift, priorShifts } from "./other-priors.ts";
import type { Outcome } from "./outcome.ts";
import { calibrationBins, mean, quantile } from "./scores.ts";

const percent = (share: number) => (Number.isNaN(share) ? "   –  " : `${(100 * share).toFixed(1).padStart(5)}%`);
const share = (items: readonly JudgedJob[], test: (item: JudgedJob) => boolean) =>
  mean(items.map((item) => Number(test(item))));

export const kindOf = (round: Pick<TrueRound, "faults">): string =>
  round.faults.length > 1 ? "two faults" : (round.faults[0]?.cause ?? "supply-sound");

export function printRun(judged: readonly JudgedJob[]): void {
  console.log(`\n${judged.length} jobs; right = cause and exactly the parts that the readings cannot tell apart;`);
  console.log(
    "within = the true part listed and none that a reading rules out; textbook = the trade's drop limits on the true volts\n",
  );
  printTable(
    "by cause",
    groups(judged, ({ round }) => kindOf(round)),
  );
  printTable(
    "by evidence",
    groups(judged, ({ evidence }) => evidence),
  );
  const sized = judged.filter((item) => sizeOf(item) !== null);
  printTable(
    "by size of drop",
    groups(sized, (item) => sizeOf(item)!),
  );
  printFigures(judged);
  printTextbook(judged);
  printShifts(judged);
  printCalibration(judged.map(({ program }) => program));
  printTimes(judged);
  for (const { problem } of judged) if (problem !== null) console.log(`could not be diagnosed: ${problem}`);
}

function groups(judged: readonly JudgedJob[], key: (item: JudgedJob) => string): Map<string, JudgedJob[]> {
  const found = new Map<string, JudgedJob[]>();
  for (const item of judged) found.set(key(item), [...(found.get(key(item)) ?? []), item]);
  return new Map([...found].sort(([a], [b]) => a.localeCompare(b)));
}

function sizeOf({ round }: JudgedJob): string | null {
  const fault = round.faults[0];
  if (round.faults.length !== 1 || fault?.cause !== "high-resistance-connection") return null;
  if (fault.dropVolts < 0.15) return "80 to 150 mV";
  if (fault.dropVolts < 0.3) return "150 to 300 mV";
  return fault.dropVolts < 1 ? "300 mV to 1 V" : "above 1 V";
}

function printTable(title: string, rows: Map<string, JudgedJob[]>): void {
  console.log(`${title.padEnd(30)} jobs   right  within   cause  undecided   oracle right   textbook right`);
  for (const [name, items] of rows) {
    const withOracle = items.filter(({ oracle }) => oracle !== null);
    const cells = [
      percent(share(items, ({ program }) => program.judgement.exact)),
      percent(share(items, ({ program }) => program.judgement.within)),
      percent(share(items, ({ program }) => program.judgement.causeRight)),
      `   ${percent(share(items, ({ program }) => program.judgement.undecided))}`,
      `       ${percent(share(withOracle, ({ oracle }) => oracle!.judgement.exact))}`,
      `         ${percent(share(items, ({ textbook }) => textbook.exact))}`,
    ];
    console.log(`${name.padEnd(30)} ${String(items.length).padStart(4)}  ${cells.join("  ")}`);
  }
  console.log("");
}

/** Each figure of the program, of the oracle (the same inference given true states and the recipe's priors), and the gap. */
function printFigures(judged: readonly JudgedJob[]): void {
  const program = figuresOfRun(judged, ({ program }) => program);
  const oracle = figuresOfRun(judged, ({ oracle }) => oracle);
  console.log(`${"".padEnd(44)}      program       oracle       gap   asked for`);
  program.forEach((figure, index) => {
    const beside = oracle[index]!;
    const gap = figure.value - beside.value;
    const cells = [
      `${shown(figure, figure.value)} ${`of ${figure.of}`.padEnd(7)}`,
      shown(figure, beside.value),
      Number.isNaN(gap) ? "      –" : `${gap < 0 ? "−" : "+"}${shown(figure, Math.abs(gap)).trim()}`.padStart(7),
    ];
    console.log(`${figure.name.padEnd(44)} ${cells.join("   ")}   ${figure.asked}`);
  });
}

const shown = ({ percent: isShare }: FigureOfRun, value: number): string =>
  Number.isNaN(value) ? "   –  " : isShare ? percent(value) : value.toFixed(3).padStart(6);

function printTextbook(judged: readonly JudgedJob[]): void {
  const line = (name: string, pick: (item: JudgedJob) => Judgement) =>
    console.log(
      `${name.padEnd(44)} right ${percent(share(judged, (item) => pick(item).exact))}, within ${percent(share(judged, (item) => pick(item).within))}`,
    );
  console.log("");
  line("rule of thumb: drops", ({ textbook }) => textbook);
  line("rule of thumb: drops, battery and charging", ({ fullTextbook }) => fullTextbook);
}

function printShifts(judged: readonly JudgedJob[]): void {
  const shifted = judged.filter((item) => item.shifted !== null);
  if (shifted.length === 0) return;
  const plain = share(shifted, ({ program }) => program.judgement.exact);
  console.log("\nright with other priors (asked for: at most 2 points less)");
  for (const shift of Object.keys(priorShifts) as PriorShift[]) {
    const right = share(shifted, (item) => item.shifted![shift].exact);
    const points = 100 * (right - plain);
    console.log(
      `  ${shift.padEnd(42)} ${percent(right)}  ${points < 0 ? "−" : "+"}${Math.abs(points).toFixed(1)} points`,
    );
  }
}

function printCalibration(outcomes: readonly Outcome[]): void {
  console.log("\nfirst findings, said   count   mean said   were right");
  for (const bin of calibrationBins(outcomes.flatMap(({ firstFinding }) => firstFinding ?? [])))
    console.log(
      `${bin.low.toFixed(1)} to ${bin.high.toFixed(1)}           ${String(bin.count).padStart(8)}      ${percent(bin.meanProbability)}       ${percent(bin.shareRight)}`,
    );
}

function printTimes(judged: readonly JudgedJob[]): void {
  const line = (name: string, times: readonly number[]) =>
    console.log(
      `${name}: median ${quantile(times, 0.5).toFixed(0)} ms, 95 % ${quantile(times, 0.95).toFixed(0)} ms, worst ${Math.max(...times).toFixed(0)} ms`,
    );
  console.log("");
  line(
    "time of a diagnosis",
    judged.map(({ milliseconds }) => milliseconds),
  );
  const beliefs = judged.map(({ beliefMilliseconds }) => beliefMilliseconds).filter((time) => time > 0);
  if (beliefs.length > 0) line("of its belief, all hypotheses and pairs", beliefs);
  const { parts, readings, median, worst } = largeJobMilliseconds();
  console.log(
    `belief on a large job, ${parts} parts and ${readings} readings: median ${median.toFixed(0)} ms, worst ${worst.toFixed(0)} ms (asked: 250)`,
  );
}
