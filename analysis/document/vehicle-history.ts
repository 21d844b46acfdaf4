/**
 * Jobs of one vehicle side by side over time: ohms of each part visit by visit, and whether they rise, so that a joint that
 * is going is seen before it fails. Goes in: its jobs with their diagnoses. Comes out: visits in order, a trend a part.
 */
import type { Diagnosis, Q, RoundDiagnosis, Verdict } from "../diagnosis.ts";
import { tradeLimitVolts } from "../finding/verdict.ts";
import type { Job } from "../job/job.ts";
import { jobInRound, partsChanged } from "../job/round.ts";
import { partsOf } from "../job/route.ts";
import { keyedState } from "./profile-shape.ts";

export interface DiagnosedJob {
  readonly job: Job;
  readonly diagnosis: Diagnosis;
  /** day of a round that says none itself, as '2026-11-25'; null: not known */
  readonly fallbackDay: string | null;
}

/** One round of one job. */
export interface Visit {
  /** place of the job in the list that was given */
  readonly job: number;
  readonly round: string;
  /** as '2026-11-25'; null where nobody wrote it down */
  readonly day: string | null;
  readonly verdict: Verdict;
  readonly loadVolts: Q;
  readonly ohms: ReadonlyMap<string, Q>;
  /** parts that were changed or mended before it was measured: their trend begins anew */
  readonly renewed: ReadonlySet<string>;
}

export interface PartTrend {
  readonly id: string;
  /** visits since the part was last renewed that the trend rests on, by their place in `visits` */
  readonly over: readonly number[];
  /** null: fewer than two dated visits with a figure */
  readonly ohmsPerYear: Q;
  /** probability that its ohms rise; null as above */
  readonly rises: number | null;
  /** what the trade allows a part of its kind to drop, at the declared transmit current; null where that is not declared */
  readonly limitOhms: number | null;
  /** day on which the trend reaches the limit, where it surely rises; null: it does not, or not within ten years */
  readonly reachesLimitOn: string | null;
}

export interface VehicleHistory {
  /** undated ones last, in the order given */
  readonly visits: readonly Visit[];
  readonly trends: readonly PartTrend[];
}

/** From this probability on a rise is spoken of. */
export const surelyRises = 0.9;
/** From this probability on, a fall between two rounds of a job is a repair. */
const surelyMended = 0.9;
const dayMilliseconds = 24 * 3600 * 1000;
const yearDays = 365.25;
const farthestDays = 10 * yearDays;

export function vehicleHistory(jobs: readonly DiagnosedJob[]): VehicleHistory {
  const visits = jobs
    .flatMap((given, job) => given.diagnosis.rounds.map((round) => visitOf(given, job, round)))
    .map((visit, place) => ({ visit, place }))
    .sort((a, b) => compareDays(a.visit.day, b.visit.day) || a.place - b.place)
    .map(({ visit }) => visit);
  const latest = visits.findLast(({ day }) => day !== null) ?? visits.at(-1);
  if (!latest) return { visits, trends: [] };
  const { job } = jobs[latest.job]!;
  const trends = [...latest.ohms.keys()].map((id) => trendOf(id, visits, jobInRound(job, latest.round)));
  return { visits, trends };
}

const compareDays = (a: string | null, b: string | null): number =>
  a === b ? 0 : a === null ? 1 : b === null ? -1 : a < b ? -1 : 1;

function visitOf({ job, diagnosis, fallbackDay }: DiagnosedJob, index: number, round: RoundDiagnosis): Visit {
  return {
    job: index,
    round: round.round,
    day: dayOfRound(job, round.round) ?? fallbackDay,
    verdict: round.verdict,
    loadVolts: keyedState(round)?.loadVolts ?? null,
    ohms: new Map(round.parts.map(({ id, ohms }) => [id, ohms])),
    renewed: new Set([...renewedIn(job, diagnosis, round.round)]),
  };
}

/** As written on the round, or on what was measured in it; else the nearest later round of the job that says one, then an earlier one. */
function dayOfRound(job: Job, round: string): string | null {
  const order = [...new Set([...job.recordings, ...job.readings].map((measured) => measured.round))];
  const place = order.indexOf(round);
  const nearest = [...order.slice(place), ...order.slice(0, place).toReversed()];
  return nearest.map((name) => ownDay(job, name)).find((day) => day !== null) ?? null;
}

function ownDay(job: Job, round: string): string | null {
  const stamps = [
    job.rounds.find((entry) => entry.round === round)?.date,
    ...job.readings.filter((reading) => reading.round === round).map(({ takenAt }) => takenAt),
    ...job.recordings
      .filter((recording) => recording.round === round)
      .flatMap(({ takenAt, startTime }) => [takenAt, startTime]),
  ];
  return stamps.map((stamp) => /^\d{4}-\d{2}-\d{2}(?!\d)/.exec(stamp ?? "")?.[0]).find((day) => isDay(day)) ?? null;
}

const isDay = (day: string | undefined): boolean => day !== undefined && !Number.isNaN(Date.parse(day));

/** Said to be changed, or found to have fallen for sure between this round and the first. */
function renewedIn(job: Job, { rounds, comparison }: Diagnosis, round: string): string[] {
  const place = rounds.findIndex((entry) => entry.round === round);
  const before = rounds[place - 1];
  if (!before) return [];
  const fallen =
    comparison?.to === round
      ? comparison.parts.filter(
          ({ ohmsBefore, ohmsAfter, changeIsReal }) =>
            ohmsBefore && ohmsAfter && changeIsReal > surelyMended && ohmsAfter.value < ohmsBefore.value,
        )
      : [];
  return [...partsChanged(job, before.round, round), ...fallen.map(({ id }) => id)];
}

function trendOf(id: string, visits: readonly Visit[], job: Job): PartTrend {
  const from = visits.findLastIndex(({ renewed }) => renewed.has(id));
  const over = visits.flatMap(({ day, ohms }, place) => (place >= from && day !== null && ohms.get(id) ? [place] : []));
  const points = over.map((place) => ({
    days: Date.parse(visits[place]!.day!) / dayMilliseconds,
    ohms: visits[place]!.ohms.get(id)!,
  }));
  const line = fittedLine(points);
  const limitOhms = limitOf(id, job);
  const rises = line && normalShare(line.slope / line.slopeUncertainty);
  return {
    id,
    over,
    ohmsPerYear: line && perYear(line),
    rises,
    limitOhms,
    reachesLimitOn: line && rises! >= surelyRises && limitOhms !== null ? dayOfReaching(line, limitOhms) : null,
  };
}

function limitOf(id: string, job: Job): number | null {
  const part = partsOf(job).find((one) => one.id === id);
  const amps = job.load.transmitAmps;
  return part && amps !== undefined ? tradeLimitVolts[part.part] / amps : null;
}

interface Line {
  /** ohms a day */
  readonly slope: number;
  readonly slopeUncertainty: number;
  readonly meanDays: number;
  readonly meanOhms: number;
  readonly lastDays: number;
}

/**
 * Straight line by least squares, each point weighed by its own uncertainty, which alone sets the slope's (GUM H.3 does it
 * for equal weights; the general form is in any text on weighted regression). Meters' common errors are counted as if they
 * were each visit's own, which widens the slope where the same meter was used throughout.
 * @returns null for fewer than two days
 */
export function fittedLine(points: readonly { days: number; ohms: NonNullable<Q> }[]): Line | null {
  const weights = points.map(({ ohms }) => 1 / Math.max(ohms.uncertainty, 1e-6) ** 2);
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = (of: (index: number) => number) => weights.reduce((sum, weight, i) => sum + weight * of(i), 0) / all;
  const meanDays = mean((index) => points[index]!.days);
  const meanOhms = mean((index) => points[index]!.ohms.value);
  const spread = weights.reduce((sum, weight, i) => sum + weight * (points[i]!.days - meanDays) ** 2, 0);
  if (new Set(points.map(({ days }) => days)).size < 2) return null;
  const slope =
    weights.reduce((sum, w, i) => sum + w * (points[i]!.days - meanDays) * (points[i]!.ohms.value - meanOhms), 0) /
    spread;
  const lastDays = Math.max(...points.map(({ days }) => days));
  return { slope, slopeUncertainty: 1 / Math.sqrt(spread), meanDays, meanOhms, lastDays };
}

/** 95 % of a normal distribution lie within so many standard uncertainties. */
const coverage = 1.96;

function perYear({ slope, slopeUncertainty }: Line): NonNullable<Q> {
  const [value, uncertainty] = [slope * yearDays, slopeUncertainty * yearDays];
  return { value, low: value - coverage * uncertainty, high: value + coverage * uncertainty, uncertainty };
}

function dayOfReaching({ slope, meanDays, meanOhms, lastDays }: Line, limitOhms: number): string | null {
  const days = Math.max(lastDays, meanDays + (limitOhms - meanOhms) / slope);
  if (days - lastDays > farthestDays) return null;
  return new Date(days * dayMilliseconds).toISOString().slice(0, 10);
}

/** Share of a standard normal distribution below z; Abramowitz and Stegun 7.1.26, error under 1.5e-7 (from memory). */
export function normalShare(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const series = ((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) * t;
  const erf = 1 - series * Math.exp(-x * x);
  return z < 0 ? (1 - erf) / 2 : (1 + erf) / 2;
}
