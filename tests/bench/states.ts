/**
 * How well states, events and clocks are found on seeded rounds with a known truth: full sets, and each log alone.
 * Run: npx tsx tests/bench/states.ts [rounds = 60] [first seed = 1] [lines of trouble = 0] [drawn | invented]
 */
import { findStates } from "../../analysis/state/states.ts";
import { alone, drawnRounds, inventedRound, type KnownLog, type KnownRound } from "./states/known-round.ts";
import { Score } from "./states/score.ts";

const rounds = Number(process.argv[2] ?? 60);
const firstSeed = Number(process.argv[3] ?? 1);
const trouble = Number(process.argv[4] ?? 0);
const only = process.argv[5];

function judgeRound(score: Score, round: KnownRound): void {
  const began = performance.now();
  const states = findStates(round.job, round.logs);
  score.milliseconds += performance.now() - began;
  round.logs.forEach((log, i) => {
    score.add(`${round.name} ${placeOf(log)}`, log, states[i]!, round.logs[0]!);
  });
}

const placeOf = ({ recording, samples }: KnownLog): string =>
  `${recording.through ?? `${recording.from}→${recording.to}`} every ${samples.intervalSeconds.toFixed(3)} s`;

const singles = ["battery alone", "load alone", "drop alone", "clamp alone"] as const;

function kindOf({ recording }: KnownLog): (typeof singles)[number] {
  const ends = [recording.from, recording.to].sort().join(" ");
  if (recording.through !== undefined) return "clamp alone";
  return ends === "battery+ battery-" ? "battery alone" : ends === "load+ load-" ? "load alone" : "drop alone";
}

async function run(title: string, rounding: (seed: number) => Promise<KnownRound[]>): Promise<void> {
  const together = new Score();
  const apart = Object.fromEntries(singles.map((kind) => [kind, new Score()]));
  for (let seed = firstSeed; seed < firstSeed + rounds; seed++) {
    for (const round of await rounding(seed)) {
      judgeRound(together, round);
      for (const single of alone(round)) judgeRound(apart[kindOf(single.logs[0]!)]!, single);
    }
  }
  together.print(`${title}, full sets`);
  together.printTrouble(trouble);
  for (const kind of singles) {
    apart[kind]!.print(`${title}, ${kind}`);
    apart[kind]!.printTrouble(trouble);
  }
}

if (only !== "invented") await run("drawn by the circuit simulator", (seed) => drawnRounds(seed, { dialects: "any" }));
if (only !== "drawn") await run("invented", async (seed) => [inventedRound(seed)]);
