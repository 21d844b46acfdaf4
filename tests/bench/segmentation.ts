/**
 * How fast a log is cut into stretches, beside a plain pass that only sums it, and how well the fast way matches the exact one.
 * Run: npx tsx tests/bench/segmentation.ts [samples = 10000000]
 */
import { partition, partitionCost, runningSums } from "../../analysis/state/partition.ts";
import { alike } from "../../analysis/state/sample-weights.ts";
import { segmentsOf, stepPenalty, stepsOf } from "../../analysis/state/segmentation.ts";
import { chanceOf } from "../fixtures/chance.ts";
import { levelLog } from "../fixtures/drawn-log.ts";

const count = Number(process.argv[2] ?? 10_000_000);

/** A recorder's log at 1 kHz: idle and keyed in turn, a battery that recovers, noise of a few counts. */
function recorderLog(n: number) {
  const chance = chanceOf(1);
  const seconds = new Float64Array(n);
  const values = new Float64Array(n);
  let keyed = false;
  let until = 20_000;
  let sag = 0;
  for (let i = 0; i < n; i++) {
    if (i === until) {
      keyed = !keyed;
      until = i + Math.floor(chance.between(3_000, 15_000));
    }
    sag += ((keyed ? 0.1 : 0) - sag) / 8_000;
    seconds[i] = i / 1000;
    values[i] =
      Math.round((12.6 - sag - (keyed ? 0.6 : 0) + 0.004 * (chance.yes(0.5) ? 1 : -1) * chance.between(0, 2)) * 1000) /
      1000;
  }
  return { ...levelLog({ 0: 0 }, 0), seconds, values, intervalSeconds: 0.001, resolution: 0.001 };
}

/** With the processor's own time: on a machine that is busy otherwise the clock on the wall says little. */
function timed<T>(work: () => T): [T, number, number] {
  const began = performance.now();
  const used = process.cpuUsage().user;
  const result = work();
  return [result, performance.now() - began, (process.cpuUsage().user - used) / 1000];
}

const median = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;

const log = recorderLog(count);
const plain = [0, 1, 2].map(() => timed(() => log.values.reduce((sum, value) => sum + value, 0))[1]);
const cut = [0, 1, 2].map(() => timed(() => segmentsOf(log)));
console.log(
  `${count} samples: cut into ${cut[0]![0].segments.length} stretches in ${median(cut.map(([, ms]) => ms)).toFixed(0)} ms, ` +
    `processor ${median(cut.map(([, , ms]) => ms)).toFixed(0)} ms (median of three; a plain pass that sums them ${median(plain).toFixed(0)} ms)`,
);

let unequal = 0;
let slower = 0;
const cases = 20;
for (let seed = 1; seed <= cases; seed++) {
  const chance = chanceOf(seed);
  const n = Math.floor(chance.between(2_500, 20_000));
  let level = 12;
  const values = Float64Array.from({ length: n }, () => {
    if (chance.yes(1e-3)) level = 12 + 0.05 * chance.normal();
    return level + 0.01 * chance.normal();
  });
  const sums = runningSums(values, alike(n, 1e4));
  const [exact, exactMs] = timed(() => partition(sums, stepPenalty(n)));
  const [fast, fastMs] = timed(() => stepsOf(sums));
  slower += exactMs / fastMs / cases;
  if (partitionCost(sums, stepPenalty(n), fast) - partitionCost(sums, stepPenalty(n), exact) > 1e-6) unequal++;
}
console.log(
  `${cases} logs of 2,500 to 20,000 samples: ${unequal} cost more than exact; exact takes ${slower.toFixed(0)} times as long`,
);
