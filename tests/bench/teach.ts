/**
 * Teaching benchmark: 300 invented meters (tests/fixtures/protocols, drawn by a generator that knows nothing of the search).
 * Prints the share learnt exactly after 3, 4 and 6 typed values, the share "sure" and wrong, and the time it takes.
 * Run with `npx tsx tests/bench/teach.ts [count] [first seed]`.
 */
import { type Taught, teach } from "../../analysis/teach/teach.ts";
import { inventedProtocol, typedValues, type Wish } from "../fixtures/protocols/invented-protocol.ts";
import { judge, lesson, wishOf } from "../fixtures/protocols/judge.ts";

const count = Number(process.argv[2] ?? 300);
const first = Number(process.argv[3] ?? 1);
const verbose = process.argv.includes("--list");
const sureAt = 0.95;

interface Tally {
  exact: number;
  sure: number;
  sureWrong: number;
}

const tallies: Record<string, Tally> = {};
const milliseconds: number[] = [];

function run(seed: number, label: string, typedCount: number, wishes: (Wish | null)[]): Taught {
  const protocol = inventedProtocol(seed);
  const started = performance.now();
  const taught = teach(lesson(protocol, typedValues(protocol, seed, typedCount, wishes)));
  milliseconds.push(performance.now() - started);
  const fault = judge(protocol, taught.readings);
  tallies[label] ??= { exact: 0, sure: 0, sureWrong: 0 };
  const tally = tallies[label];
  if (fault === null) tally.exact++;
  if (taught.sure >= sureAt) tally.sure++;
  if (taught.sure >= sureAt && fault !== null) tally.sureWrong++;
  if (verbose && (fault !== null ? label.startsWith("6") || taught.sure >= sureAt : false)) {
    console.log(`${label} seed ${seed} ${protocol.name}: sure ${taught.sure.toFixed(3)}; ${fault}; ask: ${taught.ask}`);
  }
  return taught;
}

for (let seed = first; seed < first + count; seed++) {
  const wishes: (Wish | null)[] = [null, null, null];
  for (const typedCount of [3, 4, 5, 6]) {
    const taught = run(seed, `${typedCount} as asked`, typedCount, wishes);
    wishes.push(wishOf(taught.ask));
  }
  for (const typedCount of [3, 4, 6]) run(seed, `${typedCount} at random`, typedCount, []);
}
for (const [label, { exact, sure, sureWrong }] of Object.entries(tallies).sort()) {
  const share = (n: number) => `${((100 * n) / count).toFixed(1)} %`;
  console.log(
    `${label.padEnd(12)} learnt exactly ${share(exact).padStart(7)}   sure ${share(sure).padStart(7)}   sure and wrong ${share(sureWrong).padStart(6)}`,
  );
}
milliseconds.sort((a, b) => a - b);
const at = (share: number) => milliseconds[Math.floor((milliseconds.length - 1) * share)]!.toFixed(0);
console.log(`time: median ${at(0.5)} ms, 95 % within ${at(0.95)} ms, longest ${at(1)} ms`);
