/**
 * What is the same thing in two rounds: the parts that nobody touched, the meters, the set, the battery.
 * Goes in: a hypothesis of each round and what is taken to have changed. Comes out: a tie for each unknown of the later.
 */
import type { Fault } from "../inference/hypothesis.ts";
import type { Belief } from "../inference/posterior.ts";
import type { RoundSetting } from "../inference/round-setting.ts";
import { type Unknown, type UnknownPlaces, unknownsOf } from "../inference/unknown.ts";
import type { Tie } from "./tied-rounds.ts";

/**
 * How far the logarithm of the same thing's figure wanders from one visit to the next: temperature, a contact that has
 * settled, a set's own spread from keying to keying. From memory; copper alone moves 0.4 % for each kelvin.
 */
const wander = {
  joint: 0.04,
  fuse: 0.04,
  switch: 0.05,
  wire: 0.03,
  chassis: 0.05,
  fault: 0.05,
  transmitAmps: 0.02,
  idleAmps: 0.1,
  batteryOhms: 0.15,
} as const;
/** The same for what is no logarithm: the load's exponent. */
const exponentWander = 0.1;

const untied: Tie = { partner: -1, correlation: 0 };

/** What a pair of hypotheses takes to have changed between its rounds. */
export interface Changes {
  /** parts that are drawn anew, by index */
  readonly parts: ReadonlySet<number>;
  /** faults of both rounds whose size is another */
  readonly faultSizes: boolean;
  /** the set draws otherwise: turned to another power, or another set */
  readonly set: boolean;
}

export const sameFault = (a: Fault, b: Fault): boolean => a.cause === b.cause && a.part === b.part;

/** @returns one tie for each of the later belief's unknowns */
export function tiesOf(before: Belief, after: Belief, changes: Changes): Tie[] {
  const was = placesOf(before);
  const is = placesOf(after);
  const { unknownList } = after.model;
  const ties = new Array<Tie>(unknownList.length).fill(untied);
  const tie = (partner: number, own: number, wandering: number) => {
    if (partner < 0 || own < 0 || !samePrior(before.model.unknownList[partner]!, unknownList[own]!)) return;
    ties[own] = { partner, correlation: correlationOf(wandering, unknownList[own]!.deviation) };
  };

  after.model.setting.expected.forEach(({ kind }, part) => {
    if (!changes.parts.has(part)) tie(part, part, wander[kind === "connection" ? "joint" : kind]);
  });
  if (!changes.set) {
    tie(was.amps.transmit, is.amps.transmit, wander.transmitAmps);
    tie(was.amps.idle, is.amps.idle, wander.idleAmps);
    tie(was.exponent, is.exponent, exponentWander);
  }
  tie(was.restOhms, is.restOhms, wander.batteryOhms);
  tie(was.runningOhms, is.runningOhms, wander.batteryOhms);
  tie(was.strapOdds, is.strapOdds, wander.chassis);
  if (!changes.faultSizes) {
    after.hypothesis.faults.forEach((fault, index) => {
      const old = before.hypothesis.faults.findIndex((one) => sameFault(one, fault));
      if (old >= 0) tie(was.fault[old]!, is.fault[index]!, wander.fault);
    });
  }
  for (const [partner, own] of sharedGains(before, after)) ties[own] = { partner, correlation: 1 };
  return ties;
}

/** Where the unknowns of a belief's model stand. */
export function placesOf({ hypothesis, model }: Belief): UnknownPlaces {
  const { job, expected, conditions } = model.setting;
  return unknownsOf(job, expected, conditions, hypothesis).places;
}

const samePrior = (a: Unknown, b: Unknown): boolean => a.mean === b.mean && a.deviation === b.deviation;

/** So that the difference of the two has the deviation `wandering`; none at all where that is as wide as either alone. */
const correlationOf = (wandering: number, deviation: number): number =>
  Math.max(0, 1 - (wandering / deviation) ** 2 / 2);

/**
 * Gains of meters that were used in both rounds, [before, after]. A meter that the job does not describe is nobody's:
 * the next one without a name may be another.
 */
function sharedGains(before: Belief, after: Belief): [number, number][] {
  const was = gainPlaces(before.model.setting);
  const is = gainPlaces(after.model.setting);
  const [first, second] = [before, after].map(({ model }) => model.unknowns - model.setting.meterDeviations.length) as [
    number,
    number,
  ];
  return [...is].flatMap(([meter, place]): [number, number][] => {
    const partner = was.get(meter);
    return partner === undefined ? [] : [[first + partner, second + place]];
  });
}

function gainPlaces({ job, prepared }: RoundSetting): Map<string, number> {
  const described = new Set(job.meters.map(({ id }) => id));
  return new Map(
    prepared.flatMap(({ gain, reading }): [string, number][] =>
      gain >= 0 && described.has(reading.meter) ? [[`${reading.place.quantity} ${reading.meter}`, gain]] : [],
    ),
  );
}
