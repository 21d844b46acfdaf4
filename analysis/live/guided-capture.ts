/**
 * One reading being taken: hears the meters, waits for the state that is wanted and for every level to stand, then takes
 * them together. Goes in: values of one or two meters on one clock. Comes out: once, what was captured.
 */
import type { EngineState, RadioState } from "../job/job.ts";
import { type Heard, KeyingWatch, type Sight } from "./keying-watch.ts";
import type { SettledLevel } from "./level-watch.ts";

export interface CaptureWish {
  readonly radio: RadioState;
  /** left out: whichever it is */
  readonly engine?: EngineState;
}

export interface Captured {
  readonly seconds: number;
  /** one a meter */
  readonly levels: readonly SettledLevel[];
  readonly engine: EngineState | null;
  /** when the set was keyed; null where the reading is of a set that is not */
  readonly keyedSeconds: number | null;
}

/** What is waited for, in the order in which it comes. */
export type Waiting =
  | "values"
  | "steady"
  | "keying"
  | "settling"
  | "release"
  | "engine-off"
  | "engine-running"
  | "captured";

/** Two links are not equally late: another meter's values from before may come so long after the step was seen. */
const latestSeconds = 0.3;

export class GuidedCapture {
  private readonly watches: KeyingWatch[];
  private readonly values: boolean[];
  private taken: Captured | null = null;
  /** the person says that the set is keyed, where no meter can see it */
  private saidKeyed: number | null = null;
  private anyEngine = false;

  constructor(
    sights: readonly Sight[],
    private readonly wish: CaptureWish,
  ) {
    this.watches = sights.map((sight) => new KeyingWatch(sight));
    this.values = sights.map(() => false);
  }

  /**
   * @param meter which of them shows this value
   * @returns what was captured with it; null before, and after
   */
  push(meter: number, seconds: number, value: number): Captured | null {
    this.values[meter] = true;
    const before = this.radio;
    this.watches[meter]!.push(seconds, value);
    if (this.radio !== before) this.beginLevels();
    if (this.taken || this.waiting !== "settling") return null;
    const since = this.radioSince();
    const levels = this.heard().map(({ settled }) => settled);
    if (!levels.every((level) => level && (since === null || level.fromSeconds >= since))) return null;
    const keyedSeconds = this.wish.radio === "transmit" ? since : null;
    this.taken = { seconds, levels: levels as SettledLevel[], engine: this.engine, keyedSeconds };
    return this.taken;
  }

  /** The state has changed: a meter that saw no step begins its level anew as well. */
  private beginLevels(): void {
    const since = this.radioSince();
    if (since === null) return;
    for (const watch of this.watches) if (watch.heard.sinceSeconds !== since) watch.beginAt(since + latestSeconds);
  }

  interrupt(meter: number): void {
    this.watches[meter]!.interrupt();
  }

  /** The set is keyed although no meter shows it: a drop may be too small to be seen. */
  sayKeyed(seconds: number | null): void {
    this.saidKeyed = seconds;
    this.beginLevels();
  }

  /** The engine is as it is wanted, whatever it looks like: a charging system that does nothing looks like an engine at rest. */
  takeAnyEngine(): void {
    this.anyEngine = true;
  }

  heard(): Heard[] {
    return this.watches.map(({ heard }) => heard);
  }

  get captured(): Captured | null {
    return this.taken;
  }

  get engine(): EngineState | null {
    return this.heard().find(({ engine }) => engine !== null)?.engine ?? null;
  }

  /** Keyed where any meter sees it: a sound joint may show another meter nothing. */
  get radio(): Heard["radio"] {
    if (this.saidKeyed !== null) return "transmit";
    const states = this.heard().map(({ radio }) => radio);
    if (states.includes("transmit")) return "transmit";
    return states.includes("idle") ? "idle" : null;
  }

  private radioSince(): number | null {
    if (this.saidKeyed !== null) return this.saidKeyed;
    const since = this.heard().flatMap(({ radio, sinceSeconds }) =>
      radio === this.radio && sinceSeconds !== null ? [sinceSeconds] : [],
    );
    return since.length > 0 ? Math.min(...since) : null;
  }

  get waiting(): Waiting {
    if (this.taken) return "captured";
    if (this.values.includes(false)) return "values";
    const { radio, engine } = this.wish;
    if (!this.anyEngine && engine !== undefined && this.engine !== null && this.engine !== engine)
      return engine === "off" ? "engine-off" : "engine-running";
    if (radio === "transmit") {
      if (this.radio === null) return "steady";
      return this.radio === "transmit" ? "settling" : "keying";
    }
    return this.radio === "transmit" ? "release" : "settling";
  }
}
