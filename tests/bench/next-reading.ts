/**
 * `npm run bench:next-reading -- [COUNT] [--from SEED] [--games] [--program]`: a game. From typed battery and load volts alone, readings are asked for one
 * at a time until one finding is 95 % sure and no reading between two points could split it: asked for by the program,
 * by halving the loop, and by going round it in order. Answers come from the simulated circuit through a meter of its own.
 */
import { parseArgs } from "node:util";
import { median } from "simple-statistics";
import { type Candidate, candidatesOf } from "../../analysis/finding/candidate.ts";
import { nextReadings } from "../../analysis/finding/next-reading.ts";
import { type Job, parseJob, pointsOf, routeBetween, type TypedReading } from "../../analysis/index.ts";
import { believeRound } from "../../analysis/round-belief.ts";
import { Random } from "../fixtures/recipe/random.ts";
import type { TrueRound } from "../fixtures/recipe/truth.ts";
import { drawnJob } from "./accuracy/drawn-jobs.ts";

const sureEnough = 0.95;
const mostReadings = 15;

interface Ask {
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
  readonly radio: "idle" | "transmit";
}

interface Position {
  readonly job: Job;
  readonly candidates: readonly Candidate[];
  /** what the program would ask, jumpers left out: the simulated circuit answers for the loop as it is */
  readonly asked: readonly Ask[];
}

type Strategy = (position: Position, taken: readonly Ask[]) => Ask | null;

function look(job: Job): Position {
  const { posterior } = believeRound(job, "before", []);
  const candidates = candidatesOf(posterior);
  const asked = nextReadings(posterior, candidates).flatMap(({ bypassed, engine, radio, ...place }) =>
    bypassed === undefined && engine === "off" && radio !== "off" ? [{ ...place, radio }] : [],
  );
  return { job, candidates, asked };
}

const byProgram: Strategy = ({ asked }, taken) => asked.find((ask) => !isTaken(ask, taken)) ?? null;

/** Neighbouring points round the loop, the load left out. */
function stretches(job: Job): [string, string][] {
  const points = pointsOf(job);
  return points
    .slice(1)
    .map((to, index): [string, string] => [points[index]!, to])
    .filter(([from]) => from !== "load+");
}

const inOrder: Strategy = ({ job }, taken) =>
  stretches(job)
    .map(([from, to]): Ask => ({ from, to, radio: "transmit" }))
    .find((ask) => !isTaken(ask, taken)) ?? null;

/** Feed side first; then the half of whichever leg still holds the likeliest joint. */
const byHalving: Strategy = ({ job, candidates }, taken) => {
  const feed: Ask = { from: "battery+", to: "load+", radio: "transmit" };
  if (!isTaken(feed, taken)) return feed;
  const suspect = candidates.find(({ parts }) => parts.length > 0);
  const own = stretches(job);
  const holding = own.filter(([from, to]) => {
    const ids = routeBetween(job, from, to).parts;
    return suspect?.parts.some((part) =>
      ids.includes(job.loop.filter((item) => "part" in item && item.part !== "load")[part] as never),
    );
  });
  const legs = holding.length > 0 ? holding : own;
  const half = legs
    .slice(0, Math.ceil(legs.length / 2))
    .filter(([from]) => own.indexOf(legs[0]!) <= own.findIndex(([start]) => start === from));
  const ask: Ask = { from: half[0]![0], to: half.at(-1)![1], radio: "transmit" };
  return isTaken(ask, taken) ? inOrder({ job, candidates, asked: [] }, taken) : ask;
};

const isTaken = (ask: Ask, taken: readonly Ask[]): boolean =>
  taken.some(
    (one) => one.from === ask.from && one.to === ask.to && one.through === ask.through && one.radio === ask.radio,
  );

/** Sure of one finding that no reading between two of the loop's points could split. */
function isSure({ job, candidates }: Position): boolean {
  const [first] = candidates;
  if (first === undefined || first.probability < sureEnough) return false;
  if (first.cause !== "high-resistance-connection") return true;
  const parts = job.loop.filter((item) => "part" in item && item.part !== "load");
  const holding = stretches(job).filter(([from, to]) =>
    routeBetween(job, from, to).parts.some((part) => first.parts.includes(parts.indexOf(part))),
  );
  return holding.length === 1;
}

const meters = [
  { id: "game-volts", volts: { percentOfReading: 0.5, counts: 3, resolution: 0.01 } },
  { id: "game-drop", volts: { percentOfReading: 0.5, counts: 3, resolution: 0.001 } },
  { id: "game-clamp", amps: { percentOfReading: 2, counts: 5, resolution: 0.1 } },
];

/** What a meter shows of the true circuit: a gain for good, a counts error drawn anew, whole counts. */
function answer(ask: Ask, truth: TrueRound, random: Random, gains: readonly number[]): TypedReading {
  const state = truth.states.find(({ engine, radio }) => engine === "off" && radio === ask.radio)!;
  const isReturn = ask.through !== undefined && state.returnAmps !== state.amps;
  const value =
    ask.through === undefined
      ? state.pointVolts[ask.from!]! - state.pointVolts[ask.to!]!
      : isReturn
        ? state.returnAmps
        : state.amps;
  const which = ask.through !== undefined ? 2 : Math.abs(value) < 5 ? 1 : 0;
  const meter = meters[which]!;
  const { percentOfReading, counts, resolution } = meter.volts ?? meter.amps!;
  const shown = value * (1 + (gains[which]! * percentOfReading) / 100) + (2 * random.unit() - 1) * counts * resolution;
  const rounded = Math.round(shown / resolution) * resolution;
  const { radio, ...place } = ask;
  return {
    round: "before",
    meter: meter.id,
    engine: "off",
    radio,
    ...place,
    ...(ask.through === undefined ? { volts: rounded } : { amps: rounded }),
  } as TypedReading;
}

interface Game {
  readonly readings: number;
  readonly sure: boolean;
  readonly right: boolean;
  readonly truth: TrueRound;
  readonly end: Position;
  readonly taken: readonly Ask[];
}

/** @returns null where the engine would have to run to see what is wrong: in this game it never does */
async function play(seed: number, strategy: Strategy): Promise<Game | null> {
  const drawn = await drawnJob(seed, { evidence: "typed", running: false });
  const truth = drawn.truth.rounds[0]!;
  if (truth.faults.some(({ cause }) => cause === "no-charging" || cause === "overcharging")) return null;
  const random = new Random(seed).fork("game");
  const gains = meters.map(() => 2 * random.unit() - 1);
  const { job: declared } = parseJob(drawn.files.get("job.json")!);
  const first: Ask[] = (["idle", "transmit"] as const).flatMap((radio) => [
    { from: "battery+", to: "battery-", radio },
    { from: "load+", to: "load-", radio },
  ]);
  const taken = [...first];
  let readings = first.map((ask) => answer(ask, truth, random, gains));
  for (;;) {
    const position = look({ ...declared, meters, recordings: [], readings });
    const done = isSure(position) || taken.length >= first.length + mostReadings;
    const ask = done ? null : strategy(position, taken);
    if (ask === null)
      return {
        readings: taken.length - first.length,
        sure: isSure(position),
        right: isRight(position, truth),
        truth,
        end: position,
        taken,
      };
    taken.push(ask);
    readings = [...readings, answer(ask, truth, random, gains)];
  }
}

function isRight({ job, candidates }: Position, truth: TrueRound): boolean {
  const [first] = candidates;
  const parts = job.loop.filter((item) => "part" in item && item.part !== "load");
  const ids = first!.parts.map((part) => (parts[part] as { id: string }).id);
  return truth.faults.some(
    ({ cause, parts: own }) =>
      cause === first!.cause && (cause !== "high-resistance-connection" || own.some((id) => ids.includes(id))),
  );
}

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    from: { type: "string", default: "1" },
    games: { type: "boolean", default: false },
    program: { type: "boolean", default: false },
  },
});
const count = Number(positionals[0] ?? 60);
const firstSeed = Number(values.from);
const strategies: Record<string, Strategy> = {
  "as the program asks": byProgram,
  ...(values.program ? {} : { "halving the loop": byHalving, "going round in order": inOrder }),
};
for (const [name, strategy] of Object.entries(strategies)) {
  const games: Game[] = [];
  for (let seed = firstSeed; games.length < count; seed++) {
    const game = await play(seed, strategy);
    if (game === null) continue;
    games.push(game);
    if (values.games && !(game.sure && game.right)) console.log(gameWords(seed, game));
  }
  const sure = games.filter((game) => game.sure);
  const mean = games.reduce((sum, game) => sum + game.readings, 0) / games.length;
  const right = sure.filter((game) => game.right).length;
  console.log(
    `${name}: ${mean.toFixed(2)} readings on average (median ${median(games.map((game) => game.readings))}); sure in ${sure.length} of ${games.length}, right in ${right} of those (${((100 * right) / sure.length).toFixed(1)} %)`,
  );
}

/** What was true, what was thought in the end, and what was asked for. */
function gameWords(seed: number, { sure, truth, end, taken }: Game): string {
  const faults = truth.faults.map(
    ({ cause, parts, dropVolts }) => `${cause} ${parts[0] ?? ""} ${dropVolts.toFixed(2)} V`,
  );
  const thought = end.candidates
    .slice(0, 3)
    .map(({ cause, parts, probability }) => `${probability.toFixed(2)} ${cause} (${parts.length} parts)`);
  const asked = taken.slice(4).map(({ from, to, through, radio }) => `${through ?? `${from}>${to}`} ${radio}`);
  return `seed ${seed}, ${sure ? "sure and wrong" : "not sure"}: true ${faults.join(" + ")}; thought ${thought.join(" | ")}; asked ${asked.join(", ")}`;
}
process.exit(0);
