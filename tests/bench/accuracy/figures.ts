/**
 * The figures by which a run is judged, for one way of diagnosing; what is asked for stands beside each.
 */
import { joinCoverage } from "./coverage.ts";
import type { JudgedJob } from "./judged-job.ts";
import type { Outcome } from "./outcome.ts";
import { brierScore, expectedCalibrationError, logScore, mean } from "./scores.ts";

export interface FigureOfRun {
  readonly name: string;
  readonly value: number;
  /** how many cases it rests on */
  readonly of: number;
  readonly percent: boolean;
  readonly asked: string;
}

export function figuresOfRun(judged: readonly JudgedJob[], pick: (item: JudgedJob) => Outcome | null): FigureOfRun[] {
  const cases = judged.flatMap((item) => {
    const outcome = pick(item);
    return outcome === null ? [] : [{ item, outcome }];
  });
  const full = cases.filter(({ item }) => item.evidence === "full");
  const isSound = ({ item }: (typeof cases)[number]) =>
    item.round.faults.every(({ cause }) => cause === "supply-sound");
  const two = cases.filter(({ outcome }) => outcome.judgement.bothFound !== null);
  const firsts = cases.flatMap(({ outcome }) => outcome.firstFinding ?? []);
  const given = cases.flatMap(({ outcome }) => outcome.givenToTruth);
  const coverage = joinCoverage(cases.map(({ outcome }) => outcome.coverage));
  const judgements = (list: typeof cases) => list.map(({ outcome }) => outcome.judgement);
  const rms = Math.sqrt(mean(coverage.singledOut.map((error) => error ** 2)));
  const figure = (name: string, value: number, of: number, asked: string): FigureOfRun => ({
    name,
    value,
    of,
    percent: false,
    asked,
  });
  const shareOf = (name: string, hits: readonly boolean[], asked: string): FigureOfRun => ({
    ...figure(name, mean(hits.map(Number)), hits.length, asked),
    percent: true,
  });
  return [
    shareOf(
      "first finding right",
      judgements(cases).map(({ exact }) => exact),
      "≥ 95 %",
    ),
    shareOf(
      "  on full sets",
      judgements(full).map(({ exact }) => exact),
      "≥ 97 %",
    ),
    shareOf(
      "both of two faults found",
      judgements(two).map(({ bothFound }) => bothFound === true),
      "≥ 85 %",
    ),
    shareOf(
      "false alarms on sound jobs",
      judgements(cases.filter(isSound)).map(({ falseAlarm }) => falseAlarm),
      "≤ 3 %",
    ),
    shareOf(
      "faults missed",
      judgements(cases.filter((one) => !isSound(one))).map(({ missed }) => missed),
      "≤ 2 %",
    ),
    figure("calibration error of first findings", expectedCalibrationError(firsts), firsts.length, "≤ 0.03"),
    figure("Brier score of first findings", brierScore(firsts), firsts.length, ""),
    figure("log score, −ln of what the truth was given", logScore(given), given.length, ""),
    shareOf("95 % intervals hold: ohms of parts", coverage.partOhms, "93 to 98 %"),
    shareOf("  ohms of parts at fault", coverage.faultOhms, "93 to 98 %"),
    shareOf("  volts at the load", coverage.loadVolts, "93 to 98 %"),
    figure("ohms of a singled-out part: rms of ln", rms, coverage.singledOut.length, "≤ 0.08"),
  ];
}
