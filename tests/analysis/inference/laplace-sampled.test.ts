/**
 * Laplace's evidence against annealed importance sampling on a whole round, some thirty unknowns (`npm run bench:laplace`
 * does it on twenty drawn jobs). Figures invented; the tolerance is three deviations of the sampling and half a unit of ln.
 */
import { expect, test } from "vitest";
import { sampledEvidence } from "../../bench/laplace/annealed.ts";
import { believeTyped, clamp, fourReadings, jobWithReadings, typed } from "../../fixtures/typed-round.ts";

test("evidence ratios of the likeliest explanations agree with sampling", { timeout: 120_000 }, () => {
  const job = jobWithReadings([
    ...fourReadings(12.6, 12.47, 12.58, 12.02),
    typed("battery+", "load+", 0.36),
    typed("load-", "battery-", 0.075),
    clamp("feed", 11.4),
  ]);
  const { beliefs } = believeTyped(job).posterior;
  const several = ["none", "conductor-not-as-declared", "high-resistance-connection"].map(
    (cause) => beliefs.find(({ hypothesis }) => (hypothesis.faults[0]?.cause ?? "none") === cause)!,
  );
  const found = several.map(({ model, fit }, index) => {
    const { logEvidence, doubt } = sampledEvidence(model, fit, { runs: 8, temperatures: 300, seed: index + 1 });
    return { error: logEvidence - fit.logEvidence, doubt };
  });
  let worst = 0;
  for (const { error, doubt } of found.slice(1)) {
    const off = Math.abs(error - found[0]!.error);
    worst = Math.max(worst, off);
    expect(off).toBeLessThan(0.5 + 3 * Math.hypot(doubt, found[0]!.doubt));
  }
  console.log(
    `laplace against sampling, ${several[0]!.model.unknowns} unknowns: worst error of ln ratio ${worst.toFixed(2)} (sampling ± ${Math.max(...found.map(({ doubt }) => doubt)).toFixed(2)})`,
  );
});
