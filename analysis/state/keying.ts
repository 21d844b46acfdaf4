/**
 * When the set was keyed: the way through the stretches, idle or transmitting, that explains the levels best.
 * A transmission rises from the level before it, stands about as high as the others, and falls back; what does neither is another load.
 */
import { type CarriedCase, carried, type KeyingCase } from "./keying-case.ts";
import { costs } from "./keying-costs.ts";
import { durationCost, idleCost, keyedCost } from "./level-cost.ts";
import { innerStepCost, jumpCost, otherStepCost, returnCost } from "./step-cost.ts";

export interface Keying {
  /** 1 where transmitting */
  readonly keyed: Uint8Array;
  readonly cost: number;
}

/** A transmission that costs so much for each signal is none, however long it is made. */
const hopeless = 60;
/** A transmission reaches over at most so many stretches. */
const widest = 400;

/** The cheapest way through the stretches. */
export function decodeKeying(asked: KeyingCase): Keying {
  const given = carried(asked);
  const n = given.starts.length;
  const best = new Float64Array(n + 1).fill(Number.POSITIVE_INFINITY);
  const before = new Int32Array(n + 1).fill(-2);
  const offer = (to: number, from: number, cost: number) => {
    if (cost >= best[to]!) return;
    best[to] = cost;
    before[to] = from;
  };
  startTransmitting(given, offer);
  for (let i = 0; i < n; i++) {
    if (best[i] === Number.POSITIVE_INFINITY) continue;
    let inside = 0;
    let heard = false;
    if (i + 1 === n) offer(n, i, best[i]!);
    for (let j = i + 1; j <= n && j - i <= widest; j++) {
      const ending = j === n;
      if (j === i + 1) {
        if (!ending) offer(j, i, best[i]! + idleCost(given, j) + otherStepCost(given, i, j));
      } else {
        const end = ending ? costs.cutOff : idleCost(given, j) + returnCost(given, i, j) + jumpCost(given, j, -1);
        offer(
          j,
          i,
          best[i]! +
            inside +
            jumpCost(given, i + 1, 1) +
            durationCost(given, i + 1, j - 1) +
            end +
            (heard ? 0 : costs.unheard),
        );
      }
      if (ending) continue;
      const cost = keyedCost(given, j, i);
      heard ||= !Number.isNaN(cost);
      inside += (Number.isNaN(cost) ? 0 : cost) + (j > i + 1 ? innerStepCost(given, i, j) : 0);
      if (inside > hopeless * given.signals.length) break;
    }
  }
  return { keyed: traceBack(before, n), cost: best[n]! };
}

function startTransmitting(given: CarriedCase, offer: (to: number, from: number, cost: number) => void): void {
  const n = given.starts.length;
  offer(0, -1, idleCost(given, 0));
  for (let j = 1; j < n && j <= 60; j++) {
    let inside = costs.cutOff + durationCost(given, 0, j - 1);
    let heard = false;
    for (let k = 0; k < j; k++) {
      const cost = keyedCost(given, k, j);
      heard ||= !Number.isNaN(cost);
      inside += (Number.isNaN(cost) ? 0 : cost) + (k > 0 ? innerStepCost(given, j, k) : 0);
    }
    offer(j, -1, inside + idleCost(given, j) + jumpCost(given, j, -1) + (heard ? 0 : costs.unheard));
  }
}

function traceBack(before: Int32Array, n: number): Uint8Array {
  const keyed = new Uint8Array(n);
  let at = n;
  while (at >= 0 && before[at]! >= -1) {
    const from = before[at]!;
    for (let k = from + 1; k < at; k++) keyed[k] = 1;
    at = from;
  }
  return keyed;
}
