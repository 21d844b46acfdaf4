/**
 * Two rounds as one problem: the laws of the tie, and that nothing changes where nothing is tied.
 */
import { describe, expect, test } from "vitest";
import { startOfTied, type Tie, tiedRounds } from "../../../analysis/comparison/tied-rounds.ts";
import { fitLaplace } from "../../../analysis/inference/laplace.ts";
import { readingTail } from "../../../analysis/inference/prior.ts";
import { seededNormal } from "../../../analysis/inference/seeded-normal.ts";
import { badStud, jobOf, posteriorsOf } from "./metered-round.ts";

const [before, after] = posteriorsOf(jobOf([{ round: "before", ohms: badStud }, { round: "after" }])).map(
  ({ beliefs }) => beliefs[0]!,
);
const untied: Tie = { partner: -1, correlation: 0 };
const tiesWith = (tied: Readonly<Record<number, Tie>>): Tie[] =>
  Array.from({ length: after!.model.unknowns }, (_, k) => tied[k] ?? untied);
const roundsWith = (tied: Readonly<Record<number, Tie>>) => tiedRounds(before!.model, after!.model, tiesWith(tied));

describe("a tie", () => {
  const rounds = roundsWith({ 0: { partner: 0, correlation: 1 }, 1: { partner: 1, correlation: 0.6 } });

  test("of 1 is one unknown, of 0.6 two that hang together, of 0 two that do not", () => {
    expect(rounds.unknowns).toBe(before!.model.unknowns + after!.model.unknowns - 1);
    const unknowns = Float64Array.from({ length: rounds.unknowns }, seededNormal(7));
    const [was, is] = [rounds.beforeOf(unknowns), rounds.afterOf(unknowns)];
    expect(is[0]).toBe(was[0]);
    expect(is[1]).toBeCloseTo(0.6 * was[1]! + 0.8 * unknowns[rounds.ownPlaces[1]!]!, 12);
    expect(is[2]).toBe(unknowns[rounds.ownPlaces[2]!]);
  });

  test("leaves what is believed of the later round by itself as it is: a spread of 1, and a correlation as said", () => {
    const normal = seededNormal(11);
    const pairs = Array.from({ length: 4000 }, () => {
      const unknowns = Float64Array.from({ length: rounds.unknowns }, normal);
      return [rounds.beforeOf(unknowns)[1]!, rounds.afterOf(unknowns)[1]!] as const;
    });
    const mean = (of: (pair: readonly [number, number]) => number) =>
      pairs.reduce((sum, pair) => sum + of(pair), 0) / pairs.length;
    // 4000 draws: standard errors 0.022 and 0.018
    expect(Math.abs(mean(([, is]) => is ** 2) - 1)).toBeLessThan(0.09);
    expect(Math.abs(mean(([was, is]) => was * is) - 0.6)).toBeLessThan(0.08);
  });

  test("has the slopes that small steps show", () => {
    const unknowns = Float64Array.from({ length: rounds.unknowns }, seededNormal(3)).map((value) => value / 4);
    const at = (place: number, step: number) => {
      const moved = unknowns.slice();
      moved[place]! += step;
      const residuals = new Float64Array(rounds.residuals);
      rounds.evaluate(moved, residuals);
      return residuals;
    };
    const jacobian = new Float64Array(rounds.residuals * rounds.unknowns);
    rounds.slopes!(unknowns, new Float64Array(rounds.residuals), jacobian);
    let worst = 0;
    for (let place = 0; place < rounds.unknowns; place++) {
      const [up, down] = [at(place, 1e-4), at(place, -1e-4)];
      for (let n = 0; n < rounds.residuals; n++) {
        const byStep = (up[n]! - down[n]!) / 2e-4;
        const slope = jacobian[n * rounds.unknowns + place]!;
        worst = Math.max(worst, Math.abs(slope - byStep) / (1 + Math.abs(byStep)));
      }
    }
    console.log(`slopes of two rounds against small steps: worst ${worst.toExponential(1)}`);
    expect(worst).toBeLessThan(1e-4);
  });
});

describe("rounds that nothing ties", () => {
  test("are as likely together as each by itself", () => {
    const ties = tiesWith({});
    const rounds = roundsWith({});
    const start = startOfTied(rounds, ties, before!.fit.optimum, after!.fit.optimum);
    const fit = fitLaplace(rounds, start, { tail: readingTail, near: true });
    expect(fit.logEvidence).toBeCloseTo(before!.fit.logEvidence + after!.fit.logEvidence, 2);
  });

  test("start where each was found, tied ones half way", () => {
    const ties = tiesWith({ 0: { partner: 0, correlation: 0.9 } });
    const rounds = roundsWith({ 0: { partner: 0, correlation: 0.9 } });
    const start = startOfTied(rounds, ties, before!.fit.optimum, after!.fit.optimum);
    expect(start[0]).toBe((before!.fit.optimum[0]! + after!.fit.optimum[0]!) / 2);
    expect(start[1]).toBe(before!.fit.optimum[1]);
    expect(start[rounds.ownPlaces[1]!]).toBe(after!.fit.optimum[1]);
  });
});
