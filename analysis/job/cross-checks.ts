/**
 * What one part of a job says of another: the loop goes once round, names are unique,
 * and everything measured names points, parts and rounds that exist. Each check throws a Problem at its field.
 */
import { Problem } from "../problem.ts";
import { inShort } from "./field-rule.ts";
import type { Job, Recording, TypedReading, Wire } from "./job-schema.ts";
import { isLoad, isPart, isPoint, partsOf } from "./route.ts";

export function crossCheck(job: Job): void {
  checkNames(job);
  checkLoop(job);
  checkMeters(job);
  job.recordings.forEach((recording, index) => void checkRecording(job, recording, `recordings[${index}]`));
  job.readings.forEach((reading, index) => void checkTypedReading(job, reading, `readings[${index}]`));
  job.rounds.forEach((round, index) => {
    round.changed?.forEach(({ id }, place) => {
      const known = job.loop.some((item) => !isPoint(item) && item.id === id);
      if (!known)
        refuse(`rounds[${index}].changed[${place}].id`, `be the id of a part of the loop (${partNames(job)})`, id);
    });
  });
}

function refuse(field: string, expected: string, got?: unknown): never {
  throw new Problem(`should ${expected}; got ${inShort(got)}`, { field });
}

function checkNames(job: Job): void {
  const seen = new Map<string, number>();
  job.loop.forEach((item, index) => {
    const kind = isPoint(item) ? "point" : "id";
    const name = isPoint(item) ? item.point : item.id;
    if (name === undefined) return;
    const key = `${kind} ${name}`;
    const first = seen.get(key);
    if (first !== undefined) refuse(`loop[${index}].${kind}`, `be a name of its own, as loop[${first}] has it`, name);
    seen.set(key, index);
  });
}

/** battery+ … load+, load, load- … battery-, in this order, each once. */
function checkLoop(job: Job): void {
  const { loop } = job;
  const loads = loop.flatMap((item, index) => (isLoad(item) ? [index] : []));
  const pointAt = (name: string) => loop.findIndex((item) => isPoint(item) && item.point === name);
  if (pointAt("battery+") !== 0) refuse("loop[0]", "be the point 'battery+', where the loop starts", nameOf(loop[0]));
  if (pointAt("battery-") !== loop.length - 1) {
    refuse(`loop[${loop.length - 1}]`, "be the point 'battery-', where the loop ends", nameOf(loop.at(-1)));
  }
  if (loads.length !== 1) {
    const field = loads.length > 1 ? `loop[${loads[1]}]` : "loop";
    throw new Problem(`should have exactly one part 'load'; got ${loads.length}`, { field });
  }
  const [plus, load, minus] = [pointAt("load+"), loads[0]!, pointAt("load-")];
  if (plus < 0 || plus > load) refuse("loop", "pass the point 'load+' before the load", plus < 0 ? undefined : "load+");
  if (minus < load) refuse("loop", "pass the point 'load-' after the load", minus < 0 ? undefined : "load-");
  loop.forEach((item, index) => {
    if (isPart(item) && item.part === "wire") checkWire(item, `loop[${index}]`);
  });
}

const nameOf = (item: Job["loop"][number] | undefined) =>
  item === undefined ? undefined : isPoint(item) ? item.point : (item.id ?? item.part);

/** A wire's ohms follow from size and length, unless they are given; a size that nobody knows is a guess, marked as one. */
export function checkWire(wire: Wire, field: string): void {
  if (wire.awg !== undefined || wire.squareMillimetres !== undefined || wire.ohms !== undefined) return;
  const guess = wire.unknown?.includes("size") ? "a guess at its size as " : "its size as ";
  throw new Problem(`should give ${guess}awg or squareMillimetres, or its ohms; got none of them`, { field });
}

function checkMeters(job: Job): void {
  job.meters.forEach(({ id }, index) => {
    const first = job.meters.findIndex((meter) => meter.id === id);
    if (first < index) refuse(`meters[${index}].id`, `be an id of its own, as meters[${first}] has it`, id);
  });
}

function checkRecording(job: Job, recording: Recording, field: string): void {
  if (recording.quantity === "volts") checkProbes(job, recording, field);
  else checkClamp(job, recording, field);
  checkBypassed(job, recording, field);
}

function checkTypedReading(job: Job, reading: TypedReading, field: string): void {
  const { volts, amps, rippleVolts } = reading;
  if (volts === undefined && amps === undefined && rippleVolts === undefined) {
    throw new Problem("should have a value: volts, amps or rippleVolts; got none of them", { field });
  }
  if (volts !== undefined && amps !== undefined) {
    throw new Problem("should have one value, volts or amps; got both (write two readings)", { field });
  }
  if (amps === undefined) checkProbes(job, reading, field);
  else checkClamp(job, reading, field);
  checkBypassed(job, reading, field);
}

type Measured = Recording | TypedReading;

function checkProbes(job: Job, { from, to }: Measured, field: string): void {
  const points = job.loop.filter(isPoint).map((item) => item.point);
  const expected = `be a point of the loop (${shortList(points)})`;
  if (from === undefined || !points.includes(from)) refuse(`${field}.from`, expected, from);
  if (to === undefined || !points.includes(to)) refuse(`${field}.to`, expected, to);
  if (from === to) refuse(`${field}.to`, "be another point than 'from'", to);
}

function checkClamp(job: Job, { through }: Measured, field: string): void {
  if (through === undefined || !hasPart(job, through)) refuse(`${field}.through`, partExpected(job), through);
}

function checkBypassed(job: Job, { bypassed }: Measured, field: string): void {
  bypassed?.forEach((id, index) => {
    if (!hasPart(job, id)) refuse(`${field}.bypassed[${index}]`, partExpected(job), id);
  });
}

/** A clamp sits on, and a jumper lies round, what stands before or after the load. */
const hasPart = (job: Job, id: string) => partsOf(job).some((part) => part.id === id);

const partExpected = (job: Job) => `be the id of a part of the loop other than the load (${partNames(job)})`;

const partNames = (job: Job) => shortList(partsOf(job).map(({ id }) => id));

const shortList = (names: readonly string[]) =>
  names.length > 12 ? `${names.slice(0, 12).join(", ")} and ${names.length - 12} more` : names.join(", ");
