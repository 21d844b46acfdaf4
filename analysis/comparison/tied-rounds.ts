/**
 * Two rounds as one problem: what is the same thing in both is one unknown, or two that hang together.
 * Goes in: a hypothesis of each round and the ties between their unknowns. Comes out: a problem for the fit, and the way
 * back from its unknowns to those of each round.
 */
import type { LeastSquaresProblem } from "../inference/laplace.ts";
import type { LoopModel } from "../inference/loop-model.ts";

/** How an unknown of the later round hangs together with one of the earlier. */
export interface Tie {
  /** index among the earlier round's unknowns; −1 where it has none like it */
  readonly partner: number;
  /**
   * correlation of the two before anything was measured, 0 to 1: 1 for one and the same (a meter's gain), 0 for two that
   * tell nothing of each other. What is believed of each round by itself stays as it is whatever this is.
   */
  readonly correlation: number;
}

export interface TiedRounds extends LeastSquaresProblem {
  readonly before: LoopModel;
  readonly after: LoopModel;
  /** of each of the later round's unknowns, where what it has of its own stands; −1 where it has nothing */
  readonly ownPlaces: readonly number[];
  /** √(1 − correlation²), for each of the later round's unknowns */
  readonly ownShares: readonly number[];
  /** the earlier round's unknowns are the first of all */
  beforeOf(unknowns: Float64Array): Float64Array;
  afterOf(unknowns: Float64Array): Float64Array;
}

/**
 * Unknowns: the earlier round's, then what each of the later round's has of its own. All are standard normal before
 * measuring: after = c · before + √(1 − c²) · own.
 * @param ties one for each of the later round's unknowns
 */
export function tiedRounds(before: LoopModel, after: LoopModel, ties: readonly Tie[]): TiedRounds {
  let size = before.unknowns;
  const ownPlaces = ties.map(({ correlation }) => (correlation < 1 ? size++ : -1));
  const ownShares = ties.map(({ correlation }) => Math.sqrt(1 - correlation ** 2));
  const mine = new Float64Array(before.unknowns);
  const later = new Float64Array(after.unknowns);
  const slopes = { before: slopesOf(before), after: slopesOf(after) };

  function split(unknowns: Float64Array): void {
    mine.set(unknowns.subarray(0, mine.length));
    for (let k = 0; k < later.length; k++) {
      const { partner, correlation } = ties[k]!;
      const own = ownPlaces[k]!;
      later[k] = (partner < 0 ? 0 : correlation * mine[partner]!) + (own < 0 ? 0 : ownShares[k]! * unknowns[own]!);
    }
  }

  return {
    before,
    after,
    ownPlaces,
    ownShares,
    unknowns: size,
    residuals: before.residuals + after.residuals,
    evaluate(unknowns, residuals) {
      split(unknowns);
      before.evaluate(mine, residuals.subarray(0, before.residuals));
      after.evaluate(later, residuals.subarray(before.residuals));
    },
    slopes(unknowns, residuals, jacobian) {
      split(unknowns);
      jacobian.fill(0);
      const first = slopes.before(mine, residuals.subarray(0, before.residuals));
      for (let n = 0; n < before.residuals; n++)
        jacobian.set(first.subarray(n * mine.length, (n + 1) * mine.length), n * size);
      const second = slopes.after(later, residuals.subarray(before.residuals));
      for (let n = 0; n < after.residuals; n++) {
        const row = (before.residuals + n) * size;
        for (let k = 0; k < later.length; k++) {
          const slope = second[n * later.length + k]!;
          if (slope === 0) continue;
          const { partner, correlation } = ties[k]!;
          if (partner >= 0) jacobian[row + partner]! += correlation * slope;
          if (ownPlaces[k]! >= 0) jacobian[row + ownPlaces[k]!] = ownShares[k]! * slope;
        }
      }
    },
    beforeOf: (unknowns) => unknowns.slice(0, mine.length),
    afterOf(unknowns) {
      split(unknowns);
      return later.slice();
    },
  };
}

/** Slopes of one round's model in an array that is kept. */
function slopesOf(model: LoopModel): (unknowns: Float64Array, residuals: Float64Array) => Float64Array {
  const jacobian = new Float64Array(model.residuals * model.unknowns);
  return (unknowns, residuals) => {
    model.slopes!(unknowns, residuals, jacobian);
    return jacobian;
  };
}

/** Where the fit begins: what each round found by itself, and half way between the two where they are the same thing. */
export function startOfTied(
  rounds: TiedRounds,
  ties: readonly Tie[],
  before: Float64Array,
  after: Float64Array,
): Float64Array {
  const start = new Float64Array(rounds.unknowns);
  start.set(before);
  ties.forEach(({ partner, correlation }, k) => {
    const own = rounds.ownPlaces[k]!;
    if (partner >= 0 && correlation > 0.5) start[partner] = (before[partner]! + after[k]!) / 2;
    else if (own >= 0) start[own] = after[k]!;
  });
  return start;
}
