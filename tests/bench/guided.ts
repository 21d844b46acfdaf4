/**
 * Guided reading on simulated meters: whether the captured level holds the truth within its stated 95 % uncertainty, how
 * long after the meter settled it is captured, and whether anything was captured while the key moved.
 * Run with `npx tsx tests/bench/guided.ts [count] [first seed] [--list]`.
 */
import { GuidedCapture } from "../../analysis/live/guided-capture.ts";
import { chanceOf } from "../fixtures/chance.ts";
import { keyedStream } from "../fixtures/meters/keyed-stream.ts";

const count = Number(process.argv[2] ?? 300);
const first = Number(process.argv[3] ?? 1);
const list = process.argv.includes("--list");

let [keyings, captured, within, moving, wrongState] = [0, 0, 0, 0, 0];
const waits: number[] = [];
const shares: number[] = [];
for (let seed = first; seed < first + count; seed++) {
  const stream = keyedStream(chanceOf(seed));
  const { sight, shown, moves } = stream;
  keyings++;
  const capture = new GuidedCapture([sight], { radio: "transmit" });
  for (const { seconds, takenSeconds, value } of shown) {
    const taken = capture.push(0, seconds, value);
    if (!taken) continue;
    const [level] = taken.levels;
    captured++;
    const place = moves.findLastIndex(({ from }) => from <= takenSeconds);
    const move = moves[place];
    if (!move?.keyed) {
      wrongState++;
      if (list) console.log(`seed ${seed} ${sight}: captured at ${seconds.toFixed(2)} while not keyed`);
      break;
    }
    if (takenSeconds < move.to) moving++;
    const settled = stream.settledFrom(place);
    waits.push(seconds - settled);
    const truth = stream.truth(takenSeconds);
    const limit = 1.96 * level!.uncertainty;
    const off = Math.abs(level!.value - truth);
    shares.push(limit / Math.max(Math.abs(truth), 1e-9));
    if (off <= limit) within++;
    else if (list) {
      console.log(
        `seed ${seed} ${sight} interval ${stream.intervalSeconds} step ${stream.resolution}: ${level!.value.toFixed(4)} ± ${limit.toFixed(4)}, true ${truth.toFixed(4)}, ${(seconds - settled).toFixed(2)} s after settling, ${level!.samples} samples`,
      );
    }
    break;
  }
}
waits.sort((a, b) => a - b);
shares.sort((a, b) => a - b);
const at = (values: number[], share: number) => values[Math.floor((values.length - 1) * share)]!;
const percent = (part: number, whole: number) => `${((100 * part) / whole).toFixed(1)} %`;
console.log(`${count} streams from seed ${first}`);
console.log(`captured                       ${percent(captured, keyings)}`);
console.log(`level within its uncertainty   ${percent(within, captured)}`);
console.log(`while the key moved            ${moving}`);
console.log(`while the set was not keyed    ${wrongState}`);
console.log(
  `settled to captured            median ${at(waits, 0.5).toFixed(2)} s, 90 % within ${at(waits, 0.9).toFixed(2)} s, longest ${at(waits, 1).toFixed(2)} s`,
);
console.log(
  `stated uncertainty             median ${(100 * at(shares, 0.5)).toFixed(2)} % of the level, 90 % below ${(100 * at(shares, 0.9)).toFixed(2)} %`,
);
