/**
 * The words that a technician reads for the names in files and code: on screen, in a terminal, on paper.
 */
import type { Cause, Leg, Verdict } from "./diagnosis.ts";
import type { EngineState, LoopItem, RadioState } from "./job/job-schema.ts";
import { isPoint } from "./job/route.ts";

export const legWords: Record<Leg, string> = { supply: "feed side", return: "ground side" };

export const radioWords: Record<RadioState, string> = { idle: "receiving", transmit: "keyed", off: "set off" };
export const engineWords: Record<EngineState, string> = { off: "engine off", running: "engine running" };

export const verdictWords: Record<Verdict, string> = {
  fault: "Fault",
  marginal: "Works, with little to spare",
  sound: "Feed good: look elsewhere",
  undecided: "Not enough readings yet",
};

export const causeWords: Record<Cause, string> = {
  "high-resistance-connection": "bad joint",
  "intermittent-connection": "contact that comes and goes",
  "undersized-run": "wire too light for the run",
  "conductor-not-as-declared": "wire thinner, longer or poorer than written down",
  "weak-battery": "weak battery",
  "low-charge": "battery not charged",
  "no-charging": "not charging",
  overcharging: "charging too high",
  "excess-load-current": "set draws more than it should",
  "stray-return": "current comes back another way",
  "supply-sound": "feed good: look elsewhere",
};

const styleWords: Record<string, string> = {
  "battery-post": "post clamp",
  "ring-lug": "ring lug",
  "ground-stud": "ground stud",
  "screw-terminal": "screw terminal",
  "push-on": "push-on terminal",
  "accessory-socket": "accessory socket",
  blade: "blade fuse",
  "maxi-blade": "large blade fuse",
  "bolt-down": "bolt-down fuse",
  glass: "glass fuse",
};

/** 'battery+' → 'battery +', 'load-' → 'load −'; other points as the job names them. */
export const pointWords = (point: string): string => point.replace(/(\w)\+$/, "$1 +").replace(/(\w)-$/, "$1 −");

/** What an item of the loop is: '20 A blade fuse', '10 AWG wire, 4.5 m', 'ground stud', 'point'. */
export function kindWords(item: LoopItem): string {
  if (isPoint(item)) return "point";
  switch (item.part) {
    case "connection":
      return styleWords[item.style] ?? item.style;
    case "fuse":
      return [item.ratingAmps === undefined ? "" : `${item.ratingAmps} A `, styleWords[item.style] ?? item.style].join(
        "",
      );
    case "wire": {
      const size = item.squareMillimetres !== undefined ? `${item.squareMillimetres} mm² ` : gaugeWords(item.awg);
      return `${size}wire${item.metres === undefined ? "" : `, ${item.metres} m`}`;
    }
    default:
      return item.part;
  }
}

function gaugeWords(awg: number | string | undefined): string {
  if (awg === undefined) return "";
  const large = typeof awg === "number" && awg < 0 && Number.isInteger(awg);
  return `${large ? `${1 - awg}/0` : awg === 0 ? "1/0" : awg} AWG `;
}
