/**
 * `npm run bench:laplace -- [JOBS] [--from SEED]`: ln of evidence ratios by Laplace against long sampling, on full jobs.
 * Sampling: annealed importance sampling (Neal 2001, from memory) from the Laplace normal, widened, to the posterior,
 * moved by Hamiltonian steps in coordinates in which that normal is standard; Gauss's approximation is nowhere used.
 */
import { parseArgs } from "node:util";
import { sampledEvidence } from "./laplace/annealed.ts";
import { likelyModels } from "./laplace/likely-models.ts";

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { from: { type: "string", default: "1" } },
});
const count = Number(positionals[0] ?? 20);
const first = Number(values.from);
const sampling = { runs: 16, temperatures: 600 };
let worst = 0;
const errors: number[] = [];
for (let job = 0, seed = first; job < count; seed++) {
  const models = await likelyModels(seed);
  if (models.length < 2) continue;
  job++;
  const differences = models.map(({ belief }, index) => {
    const { logEvidence, doubt } = sampledEvidence(belief.model, belief.fit, { ...sampling, seed: seed + index });
    return { name: models[index]!.name, difference: logEvidence - belief.fit.logEvidence, doubt };
  });
  const [best, ...others] = differences;
  for (const { name, difference, doubt } of others) {
    const error = difference - best!.difference;
    errors.push(Math.abs(error));
    worst = Math.max(worst, Math.abs(error));
    console.log(
      `seed ${seed}, ${models[0]!.belief.model.unknowns} unknowns: ln (${best!.name} : ${name}) is off by ${error.toFixed(2)} (sampling ± ${Math.hypot(doubt, best!.doubt).toFixed(2)})`,
    );
  }
}
errors.sort((a, b) => a - b);
console.log(
  `${errors.length} ratios on ${count} jobs: median error of ln ${errors[errors.length >> 1]!.toFixed(2)}, 90 % ${errors[Math.floor(0.9 * errors.length)]!.toFixed(2)}, worst ${worst.toFixed(2)}`,
);
