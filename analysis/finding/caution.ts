/**
 * Cautions, each with the step it belongs to: taking a reading or making a repair at some part for some cause.
 * Goes in: the job and the step. Comes out: what to take care of there, the most pressing first, each with who says so.
 * The program advises and the person decides; the maker's instructions, local codes and licensed practice come first.
 */
import type { Finding, NextReading } from "../diagnosis.ts";
import type { Job, LoopItem } from "../job/job.ts";
import { isPoint } from "../job/route.ts";

export interface Caution {
  readonly text: string;
  /** document and clause; 'general practice' where no document is named */
  readonly source: string;
}

/**
 * Sources as gathered by the team; none of the regulations was opened here, so clause numbers count as from memory
 * unless the person who needs them looks them up.
 */
const cautions = {
  dummyLoad: {
    text: "Key into a matched dummy load rated for the set's power; if it must be the antenna, listen first, keep it short, stay within the licence.",
    source: "47 CFR 80.911(d)(2) measures into a matching artificial load; national radio law",
  },
  antennaClear: {
    text: "Before each keying, say so out loud: nobody near the antenna, nobody touching it.",
    source: "47 CFR 97.13(c) and 1.1310 (RF exposure); general practice, from memory",
  },
  engine: {
    text: "Engine running: brake on, gear out, stop-start switched off; hair, sleeves, leads and hands clear of belts and fan.",
    source: "general workshop practice, from memory",
  },
  fumes: {
    text: "Run the engine in open air or with extraction; on a boat watch for exhaust drawn into the cabin.",
    source: "general practice, from memory",
  },
  rings: {
    text: "Rings, watch and bracelet off; let no tool bridge battery + to metal; no flame or spark, a charging battery gives off hydrogen.",
    source: "33 CFR 183.420(b) and (e); charger manuals",
  },
  eyes: {
    text: "Wear eye protection and do not lean over the battery; acid in the eye is rinsed for 20 minutes, then seen by a doctor.",
    source: "charger and owner's manuals",
  },
  negativeFirst: {
    text: "Before undoing it: negative lead off the battery first, on again last; note radio codes, never with the engine running.",
    source: "battery dealers' and mobile-radio manuals; service manuals",
  },
  hotJoint: {
    text: "A poor joint can char its insulation without opening the fuse: if it is hot, stop keying; cut back to sound wire.",
    source: "fire-investigation text, seen second-hand",
  },
  likeForLike: {
    text: "Replace a fuse like for like after its cause is found, never by a larger one; the fuse protects the wire.",
    source: "33 CFR 183.455; device manuals",
  },
  fuseFitsWire: {
    text: "After a change of wire, hold the fuse against the new wire as installed, and feed it through grommets, clear of heat and edges.",
    source: "33 CFR 183.455(c) (fuse and ampacity); general practice",
  },
  negativeFuse: {
    text: "Before touching the antenna, look at the fuse in the negative lead: if it has blown, antenna lead and bracket carry the return.",
    source: "general practice, from memory",
  },
  batterySensor: {
    text: "Where a sensor sits on the battery's negative post, the set's negative goes to the vehicle maker's ground point, not to the post.",
    source: "general practice, from memory",
  },
  frozen: {
    text: "Never charge or jump-start a frozen battery.",
    source: "a university's safety page",
  },
  lithium: {
    text: "A lithium battery can cut itself off without warning; lead-acid voltages do not apply to it.",
    source: "general practice, from memory",
  },
  backProbe: {
    text: "Clip on before keying and back-probe, never pierce insulation; keep off yellow or orange plugs and sleeves (restraints, high voltage).",
    source: "vehicle service documents; general practice",
  },
  voltsJack: {
    text: "Leads in the volts sockets: across a battery the current socket is a short circuit.",
    source: "general practice; Lessons in Electric Circuits, on a meter left in the wrong mode",
  },
  clamp: {
    text: "Zero the DC clamp where it will sit, jaws closed, then put it round this one wire alone.",
    source: "general practice, from memory",
  },
  jumper: {
    text: "The jumper goes round the suspect joint, heavy and short; never round a fuse.",
    source: "general practice, from memory",
  },
  petrol: {
    text: "Petrol on board: ventilate and sniff before anything is connected; a spark in the bilge is enough.",
    source: "33 CFR 183.410 (ignition protection)",
  },
} as const satisfies Record<string, Caution>;

/**
 * What to take care of while a reading is taken.
 * @example from 'load-' to 'battery-', keyed, engine off: rings off, dummy load, clip on before keying, …
 */
export function cautionsForReading(job: Job, reading: Omit<NextReading, "bits" | "why">): Caution[] {
  const { from, to, through, engine, radio, bypassed = [], drawnBy } = reading;
  const atBattery = [from, to].some((point) => point === "battery+" || point === "battery-");
  const found: (keyof typeof cautions)[] = [];
  if (atBattery) found.push("rings");
  if (radio === "transmit" && drawnBy !== "test-load") found.push("dummyLoad", "antennaClear");
  if (engine === "running") found.push("engine", "fumes");
  if (bypassed.length > 0) found.push("jumper");
  if (through !== undefined) found.push("clamp");
  if (from !== undefined) found.push("backProbe");
  if (from === "battery+" || to === "battery+") found.push("voltsJack");
  if (atBattery && job.battery.type === "lithium") found.push("lithium");
  if (job.setting === "boat") found.push("petrol");
  return found.map((name) => cautions[name]);
}

/**
 * What to take care of while a repair is made.
 * @example a bad ground stud: negative off first, a hot joint may have charred its insulation
 */
export function cautionsForRepair(job: Job, { cause, parts }: Pick<Finding, "cause" | "parts">): Caution[] {
  const items = job.loop.filter((item) => !isPoint(item) && item.id !== undefined && parts.includes(item.id));
  const found = new Set<keyof typeof cautions>();
  const add = (...names: (keyof typeof cautions)[]) => names.forEach((name) => void found.add(name));
  switch (cause) {
    case "high-resistance-connection":
    case "intermittent-connection":
      add("negativeFirst", "hotJoint");
      break;
    case "undersized-run":
    case "conductor-not-as-declared":
      add("negativeFirst", "fuseFitsWire");
      break;
    case "weak-battery":
    case "low-charge":
      add("rings", "eyes", "frozen");
      break;
    case "no-charging":
      add("engine", "fumes");
      break;
    case "overcharging":
      add("rings", "eyes", "engine");
      break;
    case "stray-return":
      add("negativeFuse", "negativeFirst");
      break;
    case "excess-load-current":
      add("likeForLike", "dummyLoad");
      break;
    case "supply-sound":
      break;
  }
  if (items.some((item) => !isPoint(item) && item.part === "fuse")) add("likeForLike");
  if (items.some((item) => nextToBattery(job, item))) add("rings");
  if (items.some((item) => nextToBatteryNegative(job, item))) add("batterySensor");
  if (found.size > 0 && job.battery.type === "lithium" && (found.has("rings") || found.has("frozen"))) add("lithium");
  if (found.size > 0 && job.setting === "boat") add("petrol");
  return [...found].map((name) => cautions[name]);
}

const nextToBattery = (job: Job, item: LoopItem) => item === job.loop[1] || nextToBatteryNegative(job, item);
const nextToBatteryNegative = (job: Job, item: LoopItem) => item === job.loop.at(-2);
