/**
 * Teaching benchmark on two benches of invented meters (tests/fixtures/protocols), drawn by generators that know nothing of
 * the search: the share learnt exactly after 3, 4 and 6 typed values, typed at random or as asked, the share called sure
 * (0.95 or more) and of all the share that is sure and wrong, and the processor time of each lesson.
 * Run with `npm run bench:teach -- [count] [first seed] [--list]`; the issue asks for 300.
 */
import { type Taught, teach } from "../../analysis/teach/teach.ts";
import { inventedProtocol, typedValues, type Wish } from "../fixtures/protocols/invented-protocol.ts";
import { judge, lesson, wishOf } from "../fixtures/protocols/judge.ts";
import { judgeSecond, secondProtocol } from "../fixtures/protocols/second-bench.ts";

const [count = 300, first = 1] = process.argv
  .slice(2)
  .filter((word) => /^\d+$/.test(word))
  .map(Number);
const listed = process.argv.includes("--list");
const sureAt = 0.95;

interface Tally {
  exact: number;
  sure: number;
  sureWrong: number;
}

const tallies = new Map<string, Tally>();
const milliseconds: number[] = [];

/** A search longer than this is listed (ms; the issue asks for two seconds on a minute of bytes). */
const long = 2000;

function timed(name: string, input: unknown): Taught {
  const before = process.cpuUsage().user;
  const taught = teach(input);
  const took = (process.cpuUsage().user - before) / 1000;
  milliseconds.push(took);
  if (listed && took > long) console.log(`${name}: ${took.toFixed(0)} ms`);
  return taught;
}

function score(label: string, name: string, taught: Taught, fault: string | null): void {
  const tally = tallies.get(label) ?? { exact: 0, sure: 0, sureWrong: 0 };
  tallies.set(label, tally);
  if (fault === null) tally.exact++;
  if (taught.sure >= sureAt) tally.sure++;
  if (taught.sure >= sureAt && fault !== null) tally.sureWrong++;
  if (listed && fault !== null) console.log(`${label}, ${name}: sure ${taught.sure}; ${fault}; ask: ${taught.ask}`);
}

for (let seed = first; seed < first + count; seed++) {
  const protocol = inventedProtocol(seed);
  const name = `seed ${seed} ${protocol.name}`;
  const wishes: (Wish | null)[] = [null, null, null];
  for (const typedCount of [3, 4, 5, 6]) {
    const taught = timed(`${name}, ${typedCount}`, lesson(protocol, typedValues(protocol, seed, typedCount, wishes)));
    if (typedCount !== 5) score(`first bench, ${typedCount} as asked`, name, taught, judge(protocol, taught.readings));
    wishes.push(wishOf(taught.ask));
  }
  for (const typedCount of [3, 4, 6]) {
    const taught = timed(`${name}, ${typedCount}`, lesson(protocol, typedValues(protocol, seed, typedCount)));
    score(`first bench, ${typedCount} at random`, name, taught, judge(protocol, taught.readings));
    const second = secondProtocol(seed, typedCount);
    const secondName = `seed ${seed} ${second.name}`;
    const learnt = timed(`${secondName}, ${typedCount}`, {
      format: "teach/1",
      bytes: second.bytes,
      typed: second.typed,
    });
    score(`second bench, ${typedCount} at random`, secondName, learnt, judgeSecond(second, learnt.readings));
  }
}
for (const [label, { exact, sure, sureWrong }] of [...tallies].sort()) {
  const share = (n: number) => `${((100 * n) / count).toFixed(1)} %`;
  console.log(
    `${label.padEnd(26)} learnt exactly ${share(exact).padStart(7)}   sure ${share(sure).padStart(7)}   sure and wrong ${share(sureWrong).padStart(6)}`,
  );
}
milliseconds.sort((a, b) => a - b);
const at = (share: number) => milliseconds[Math.floor((milliseconds.length - 1) * share)]!.toFixed(0);
console.log(`processor time: median ${at(0.5)} ms, 95 % within ${at(0.95)} ms, longest ${at(1)} ms`);
