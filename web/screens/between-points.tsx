/** The reading between two points that were tapped: what should be lost there, what is, and a way to take it. */
import {
  expectedDropVolts,
  expectedParts,
  type Job,
  type Q,
  type RoundDiagnosis,
  routeBetween,
  type StateEntry,
  withInterval,
} from "../../analysis/index.ts";
import { pointName } from "../words/plain-words.ts";

export interface BetweenPointsProps {
  readonly job: Job;
  readonly round: RoundDiagnosis;
  readonly points: readonly string[];
  readonly onTake: (from: string, to: string) => void;
}

export function BetweenPoints({ job, round, points, onTake }: BetweenPointsProps) {
  const [first, second] = points;
  if (first === undefined) return null;
  if (second === undefined) {
    return (
      <p class="between" role="status">
        {pointName(first)} chosen: tap a second point.
      </p>
    );
  }
  const way = routeBetween(job, first, second);
  const [from, to] = way.sign === 1 ? [first, second] : [second, first];
  const ids = new Set(way.parts.map(({ id }) => id));
  const keyed = round.states.find(({ engine, radio }) => engine === "off" && radio === "transmit");
  const amps = keyed?.amps?.value ?? job.load.transmitAmps;
  const lost =
    wholeLeg(round, ids, keyed) ?? sum(round.parts.filter(({ id }) => ids.has(id)).map(({ dropVolts }) => dropVolts));
  const expected =
    amps === undefined
      ? null
      : expectedDropVolts(
          expectedParts(job).filter(({ id }) => ids.has(id)),
          amps,
        );
  return (
    <div class="between" role="status">
      <p>
        <strong>
          {pointName(from)} to {pointName(to)}
        </strong>
        {way.throughLoad && keyed?.loadVolts && `: ${withInterval(keyed.loadVolts, "V")} across the set, and`} loses{" "}
        <strong class="figure">{withInterval(lost, "V")}</strong> keyed, engine off; should lose{" "}
        {withInterval(expected, "V")}.
      </p>
      <button type="button" onClick={() => onTake(from, to)}>
        Take this reading
      </button>
    </div>
  );
}

/** The drop of a whole side, known better than the sum of its parts; null where the points span anything else. */
function wholeLeg({ parts }: RoundDiagnosis, ids: ReadonlySet<string>, keyed: StateEntry | undefined): Q {
  const spans = (leg: "supply" | "return") => parts.every((part) => (part.leg === leg) === ids.has(part.id));
  return spans("supply") ? (keyed?.supplyDropVolts ?? null) : spans("return") ? (keyed?.returnDropVolts ?? null) : null;
}

/** Drops of parts in a row. Their uncertainties are taken as independent, which makes the sum's a little too wide. */
function sum(drops: readonly Q[]): Q {
  if (drops.some((drop) => drop === null)) return null;
  const known = drops.filter((drop) => drop !== null);
  const value = known.reduce((total, drop) => total + drop.value, 0);
  const below = Math.hypot(...known.map((drop) => drop.value - drop.low));
  const above = Math.hypot(...known.map((drop) => drop.high - drop.value));
  return {
    value,
    low: value - below,
    high: value + above,
    uncertainty: Math.hypot(...known.map((drop) => drop.uncertainty)),
  };
}
