/**
 * `npm run bench:accuracy -- [COUNT] …`: draws jobs, has the program diagnose them, and prints how often it was right,
 * beside an oracle, beside shifted priors and beside the rule of thumb. Usage in tests/bench/accuracy/README.md.
 */
import { parseArgs } from "node:util";
import type { DrawOptions } from "../fixtures/recipe/draw-job.ts";
import type { Cause, Evidence } from "../fixtures/recipe/truth.ts";
import { drawnJob, writeFolder } from "./accuracy/drawn-jobs.ts";
import type { JudgedJob } from "./accuracy/judged-job.ts";
import { kindOf, printRun } from "./accuracy/report.ts";
import { judgeAll } from "./accuracy/workers.ts";

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    from: { type: "string", default: "1" },
    evidence: { type: "string" },
    cause: { type: "string" },
    plain: { type: "boolean", default: false },
    quick: { type: "boolean", default: false },
    misses: { type: "boolean", default: false },
    write: { type: "string" },
  },
});
const options: Partial<DrawOptions> = {
  ...(values.evidence === undefined ? {} : { evidence: values.evidence as Evidence }),
  ...(values.cause === undefined ? {} : { cause: values.cause.split("+") as Cause[] }),
  ...(values.plain ? { dialects: "plain" } : {}),
};

if (values.write !== undefined) {
  for (const seed of positionals) writeFolder(await drawnJob(Number(seed), options), `${values.write}/drawn-${seed}`);
  process.exit(0);
}

const count = Number(positionals[0] ?? 400);
const first = Number(values.from);
const tasks = Array.from({ length: count }, (_, k) => ({ seed: first + k, options, beside: !values.quick }));
const judged = await judgeAll(tasks, (done) => {
  if (process.stderr.isTTY) process.stderr.write(`\r${done} of ${count}`);
});
if (process.stderr.isTTY) process.stderr.write("\r");
printRun(judged);
if (values.misses) {
  console.log(`\nmisses (look at one with --write DIR SEED)`);
  for (const job of judged.filter(({ program: { judgement } }) => !judgement.exact || judgement.bothFound === false))
    console.log(missLine(job));
}

function missLine({ seed, evidence, layout, round, got, verdict }: JudgedJob): string {
  const faults = round.faults.map(
    (fault) =>
      `${fault.cause}${fault.group.length > 0 ? ` [${fault.group.join(" ")}]` : ""} ${fault.dropVolts.toFixed(2)} V`,
  );
  const named = got.map(
    ({ cause, parts, probability }) =>
      `${probability.toFixed(2)} ${cause}${parts.length > 0 ? ` [${parts.join(" ")}]` : ""}`,
  );
  const head = `${String(seed).padStart(5)} ${evidence} ${layout} (${kindOf(round)})`;
  return `${head}\n        true ${faults.join(" + ")}\n        got  ${verdict}: ${named.join(" | ")}`;
}
