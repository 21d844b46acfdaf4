/**
 * What to do about a finding, in the trade's words and in the order in which it is done. Cautions stand apart (caution.ts).
 */
import type { Cause } from "../diagnosis.ts";
import type { Job, Part } from "../job/job.ts";
import { smallestConductor } from "../loop/smallest-conductor.ts";
import { list, partWords } from "./place-words.ts";

const jointRepair: Readonly<Record<string, string>> = {
  "battery-post": "take the clamp off (negative first), clean post and clamp to bare metal, refit tight and grease it",
  "ring-lug":
    "undo the lug, clean both faces, look for a crimp that turns or green strands, remake the lug if in doubt, and tighten it",
  plug: "part the plug, look for scorched or spread contacts and loose crimps, renew both contacts if so",
  splice: "cut the splice out and make a new crimped and sealed one",
  "ground-stud":
    "undo the stud, scrape paint and rust to bright metal, fit a new ring terminal with its lock washer biting into the metal, tighten and seal it",
  strap:
    "undo both ends of the strap, clean them to bright metal, renew a strap with broken or green strands, and tighten",
  "screw-terminal": "slacken the screw, cut back to clean strands, fit a ferrule, and tighten",
  "push-on": "pull the terminal off, renew it if it is loose or discoloured, and see that it grips",
  "accessory-socket": "do without the socket: run a fused pair from the battery instead",
  blade: "take the fuse out, look for heat marks and slack clips, renew holder and fuse with the same rating",
  "maxi-blade": "take the fuse out, look for heat marks and slack clips, renew holder and fuse with the same rating",
  "bolt-down":
    "undo the fuse's bolts, clean the faces, renew the fuse with the same rating if it is marked, and tighten",
  glass: "renew the inline holder, preferably by one for blade fuses of the same rating",
  switch: "bridge nothing for good: renew the switch or relay, or clean its terminals if only they are at fault",
};

export function repairFor(job: Job, cause: Cause, parts: readonly Part[]): string {
  const names = list(parts.map(partWords));
  switch (cause) {
    case "high-resistance-connection":
      return parts.length === 1
        ? `At ${names}: ${jointWork(parts[0]!)}.`
        : `One of ${names}: take the next reading to tell which; where a joint is quicker to remake than to measure, remake it. ${workByJoint(parts)}.`;
    case "intermittent-connection":
      return `Key the set and move ${names} by hand to find what opens; then ${parts.length === 1 ? jointWork(parts[0]!) : "remake the joint that moves"}, and give the cable strain relief.`;
    case "undersized-run":
      return `Run heavier wire: ${conductorWords(job)}.`;
    case "conductor-not-as-declared":
      return `Check gauge, length and metal of ${names} against what is written down; replace what is thinner or of copper-clad aluminium by copper: ${conductorWords(job)}.`;
    case "weak-battery":
      return "Clean and tighten the battery's posts, charge it fully and load-test it; renew it if its volts still fall too far under load.";
    case "low-charge":
      return "Charge the battery fully, let it rest some hours and read it again; find what drained it (standing drain, charging, age).";
    case "no-charging":
      return "Look at belt, alternator connections, charging fuse and warning lamp; then have alternator and regulator tested.";
    case "overcharging":
      return "Stop long runs until it is mended: check the regulator's sense lead and ground, then have the regulator renewed.";
    case "excess-load-current":
      return "The supply is not the first to look at: check the set's power setting and antenna match (standing waves), and what else hangs on this feed.";
    case "stray-return":
      return `Current comes back by the antenna lead or the mounting bracket: clean and tighten the set's own ground (${names}), and see that the negative lead and its fuse are whole before anyone touches the antenna.`;
    case "supply-sound":
      return "Leave the feed alone: look at the set itself, its antenna and lead, and RF getting into the microphone or the leads.";
  }
}

/** Joints that want the same work share its words. */
function workByJoint(parts: readonly Part[]): string {
  const works = [...new Set(parts.map(jointWork))];
  return works
    .map(
      (work) =>
        `${list(
          parts.filter((part) => jointWork(part) === work).map(({ id }) => id),
          "and",
        )}: ${work}`,
    )
    .join("; ");
}

const jointWork = (part: Part): string =>
  jointRepair[part.part === "connection" || part.part === "fuse" ? part.style : part.part] ?? "clean and tighten it";

function conductorWords(job: Job): string {
  const smallest = smallestConductor(job);
  if (smallest === null) return "copper of a size that keeps the whole drop within the limit";
  const { awg, squareMillimetres } = smallest;
  const sizes = [awg === null ? null : `${awg} AWG`, squareMillimetres === null ? null : `${squareMillimetres} mm²`];
  const named = sizes.filter((size) => size !== null);
  return named.length > 0
    ? `copper of at least ${named.join(" or ")} all the way keeps the drop within the limit`
    : "no usual size is heavy enough: shorten the run or move the battery's feed closer";
}
