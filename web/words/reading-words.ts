/** A reading that should be taken, in the technician's words. */
import {
  type EngineState,
  isPoint,
  type Job,
  type NextReading,
  partsOf,
  type RadioState,
} from "../../analysis/index.ts";
import { partName, pointName } from "./plain-words.ts";

export interface Wanted {
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
  readonly engine: EngineState;
  readonly radio: RadioState;
  readonly bypassed?: readonly string[];
  readonly drawnBy?: "set" | "test-load";
}

/** 'load − to body at load', 'clamp on feed'. */
export function placeOf(
  job: Pick<Job, "loop">,
  { from, to, through }: Pick<Wanted, "from" | "to" | "through">,
): string {
  if (through !== undefined) return `clamp on ${nameOfPart(job, through)}`;
  if (from !== undefined && to !== undefined) return `${pointName(from)} to ${pointName(to)}`;
  return "nowhere yet";
}

export function nameOfPart(job: Pick<Job, "loop">, id: string): string {
  return partName(partsOf(job).find((part) => part.id === id) ?? { id });
}

/** What the hands and the set do for it: 'Engine off. Key the set for five seconds.' */
export function stateToTake({ engine, radio, drawnBy }: Pick<Wanted, "engine" | "radio" | "drawnBy">): string {
  const engineWords = engine === "off" ? "Engine off." : "Engine running, a little above idle.";
  if (drawnBy === "test-load") return `${engineWords} A test load in the set's place, switched on.`;
  if (radio === "transmit")
    return `${engineWords} Key the set for five seconds into a dummy load; read while it is keyed.`;
  return radio === "idle" ? `${engineWords} Set switched on, receiving.` : `${engineWords} Set switched off.`;
}

/** The first reading of a job, before there is anything to weigh: how much gets through to the set in all. */
export function firstReading(job: Job): NextReading {
  const reachable = (point: string) =>
    !job.loop.some((item) => isPoint(item) && item.point === point && item.reach === "no");
  const [from, to] = reachable("load+") && reachable("load-") ? ["load+", "load-"] : ["battery+", "battery-"];
  return {
    from,
    to,
    engine: "off",
    radio: "transmit",
    bits: 0,
    why: "It tells at once how many volts are left for the set; everything else follows from there.",
  };
}
