/**
 * The potential profile as numbers: volts along the way round the circuit, each leg against its own battery post.
 * On the feed side they fall from 0 at battery + (−0.3: three tenths lost so far); on the ground side they fall to 0
 * at battery −. The load's own volts are cut out, as a drawing breaks a long shaft: what is left is what is lost.
 */
import type { Leg, Q, RoundDiagnosis, StateEntry } from "../diagnosis.ts";
import type { Job, LoopItem } from "../job/job.ts";
import { isLoad, isPart, isPoint } from "../job/route.ts";

export interface Slot {
  readonly kind: "point" | "part" | "load";
  readonly id: string;
  readonly leg: Leg;
  readonly item: LoopItem;
}

const noDrop = { value: 0, low: 0, high: 0, uncertainty: 0 };

/**
 * The drops of one leg's parts made to agree with what the whole leg loses. Where no reading separates some parts, the
 * sum is known better than its parts: what they leave unexplained goes to the suspects, each by how likely it is.
 * @param suspicion by part id, 0 to 1; a part that is not named is not suspected
 * @returns drops by part id; unchanged where the leg's own drop is not known or nobody is suspected
 */
export function adjusted(
  drops: ReadonlyMap<string, Q>,
  legDrop: Q,
  suspicion: ReadonlyMap<string, number>,
): Map<string, Q> {
  // A suspect that no reading separates has no drop of its own: it starts from nothing and gets its share of what is missing.
  const known = [...drops].flatMap(([id, drop]) => {
    const share = suspicion.get(id) ?? 0;
    return drop ? [{ id, drop, share }] : share > 0 ? [{ id, drop: noDrop, share }] : [];
  });
  const shares = known.reduce((sum, { share }) => sum + share, 0);
  const result = new Map(drops);
  if (!legDrop || shares === 0) return result;
  const missing = legDrop.value - known.reduce((sum, { drop }) => sum + drop.value, 0);
  for (const { id, drop, share } of known) {
    const value = Math.max(0, drop.value + (missing * share) / shares);
    result.set(id, { ...drop, value, low: Math.min(drop.low, value), high: Math.max(drop.high, value) });
  }
  return result;
}

/** What each part loses; where the first finding could not be pinned to one part, made to agree with what each side loses in all. */
export function measuredDrops(round: RoundDiagnosis): Map<string, Q> {
  const { parts, findings } = round;
  const keyed = keyedState(round);
  const legDrops = { supply: keyed?.supplyDropVolts ?? null, return: keyed?.returnDropVolts ?? null };
  const suspects = findings[0] && findings[0].parts.length > 1 ? findings[0].parts : [];
  const suspicion = new Map(
    parts.filter(({ id }) => suspects.includes(id)).map((part) => [part.id, part.faultProbability]),
  );
  return new Map(
    (["supply", "return"] as const).flatMap((leg) => {
      const drops = parts.filter((part) => part.leg === leg).map(({ id, dropVolts }) => [id, dropVolts] as const);
      return [...adjusted(new Map(drops), legDrops[leg], suspicion)];
    }),
  );
}

/** The state that the profile is drawn for: keyed, with the engine off where there is a choice. */
export function keyedState({ states }: Pick<RoundDiagnosis, "states">): StateEntry | undefined {
  const keyed = states.filter(({ radio, amps }) => radio === "transmit" && amps);
  return keyed.find(({ engine }) => engine === "off") ?? keyed[0];
}

/** One place on the profile: the boundary after a slot (or before the first of a leg). */
export interface Level {
  /** index of the slot that ends here; −1 before the first */
  readonly slot: number;
  readonly leg: Leg;
  /** against the leg's battery post: ≤ 0 on the feed side, ≥ 0 on the ground side */
  readonly volts: number;
  readonly low: number;
  readonly high: number;
}

export interface Staircase {
  readonly supply: readonly Level[];
  readonly return: readonly Level[];
}

export function slotsOf(job: Pick<Job, "loop">): Slot[] {
  const loadAt = job.loop.findIndex(isLoad);
  return job.loop.map((item, index) => ({
    kind: isPoint(item) ? "point" : isLoad(item) ? "load" : "part",
    id: isPoint(item) ? item.point : isPart(item) ? item.id : "load",
    leg: index < loadAt ? "supply" : "return",
    item,
  }));
}

/**
 * Levels at every boundary from the volts each part loses. Spreads add in quadrature from the leg's own battery post.
 * @param dropOf null: not known, drawn as no drop
 */
export function staircase(slots: readonly Slot[], dropOf: (id: string) => Q): Staircase {
  const load = slots.findIndex((slot) => slot.kind === "load");
  return {
    supply: walk(slots, 0, load, 1, dropOf),
    return: walk(slots, slots.length - 1, load, -1, dropOf).reverse(),
  };
}

/** Away from a battery post towards the load; `step` −1 walks the ground side against the current. */
function walk(slots: readonly Slot[], from: number, load: number, step: 1 | -1, dropOf: (id: string) => Q): Level[] {
  const leg: Leg = step === 1 ? "supply" : "return";
  const sign = -step;
  let lost = 0;
  let below = 0;
  let above = 0;
  const levels: Level[] = [{ slot: step === 1 ? -1 : from, leg, volts: 0, low: 0, high: 0 }];
  for (let index = from; index !== load; index += step) {
    const slot = slots[index]!;
    const drop = slot.kind === "part" ? dropOf(slot.id) : null;
    if (drop) {
      lost += drop.value;
      below = Math.hypot(below, drop.value - drop.low);
      above = Math.hypot(above, drop.high - drop.value);
    }
    const ends = [sign * (lost - below), sign * (lost + above)];
    levels.push({
      slot: step === 1 ? index : index - 1,
      leg,
      volts: sign * lost,
      low: Math.min(...ends),
      high: Math.max(...ends),
    });
  }
  return levels;
}

/** Volts each leg's half of the picture must hold, from every staircase drawn on it. */
export interface Span {
  readonly supply: number;
  readonly return: number;
  readonly step: number;
}

export function spanOf(staircases: readonly Staircase[]): Span {
  const most = (leg: Leg) =>
    Math.max(
      0,
      ...staircases.flatMap((stair) =>
        stair[leg].map((level) =>
          Math.max(
            Math.abs(level.volts),
            Math.min(Math.abs(leg === "supply" ? level.low : level.high), 1.6 * Math.abs(level.volts) + 0.02),
          ),
        ),
      ),
    );
  const total = Math.max(most("supply") + most("return"), 0.05);
  const step = niceStep(total / 5);
  const half = step / 2;
  const upTo = (volts: number) => Math.max(1, Math.ceil((volts * 1.04) / half)) * half;
  return { supply: upTo(most("supply")), return: upTo(most("return")), step };
}

/** 1, 2 or 5 times a power of ten, not below `rough`. */
export function niceStep(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * (rough / power <= 1 ? 1 : rough / power <= 2 ? 2 : rough / power <= 5 ? 5 : 10);
}

/**
 * Volts against the posts → place on one falling axis, 0 at battery +, growing with what is lost:
 * the feed side first, the break for the load, then the ground side.
 */
export class BrokenVolts {
  readonly gap: number;
  readonly length: number;
  readonly span: Span;

  constructor(span: Span) {
    this.span = span;
    this.gap = (span.supply + span.return) * 0.16;
    this.length = span.supply + this.gap + span.return;
  }

  place(volts: number, leg: Leg): number {
    const place = leg === "supply" ? -volts : this.span.supply + this.gap + this.span.return - volts;
    return Math.min(Math.max(place, 0), this.length);
  }

  ticks(): { value: number; label: string }[] {
    const decimals = Math.max(0, -Math.floor(Math.log10(this.span.step) + 1e-9));
    const marks = (leg: Leg, sign: 1 | -1) =>
      Array.from({ length: Math.floor(this.span[leg] / this.span.step + 1e-9) + 1 }, (_, index) => {
        const volts = sign * index * this.span.step;
        const label = volts === 0 ? "0" : `${sign < 0 ? "\u2212" : "+"}${Math.abs(volts).toFixed(decimals)}`;
        return { value: this.place(volts, leg), label };
      });
    return [...marks("supply", -1), ...marks("return", 1).reverse()];
  }
}
