/**
 * Hears one place of the loop and says whether the set is keyed, and what the engine does, as it happens.
 * A level that stood is the measure: keyed, the load's volts fall, and drops and amps grow.
 */
import type { EngineState, RadioState } from "../job/job.ts";
import { LevelWatch, type SettledLevel } from "./level-watch.ts";

/** What a meter looks at. `across-load`: both probes with the load between them, as at the set or at the battery. */
export type Sight = "across-load" | "drop" | "current";

export interface Heard {
  /** null: not known yet */
  readonly radio: Extract<RadioState, "idle" | "transmit"> | null;
  /** since when */
  readonly sinceSeconds: number | null;
  /** null: this place does not tell */
  readonly engine: EngineState | null;
  readonly settled: SettledLevel | null;
}

/** A step of keying is at least so many uncertainties of both levels, and so much of the level itself. */
const clearWidths = 4;
const leastShare: Readonly<Record<Sight, number>> = { "across-load": 0.004, drop: 0.25, current: 0.25 };
/** Once keyed, the set is released when so much of the step has gone back. */
const backShare = 0.5;
/** Settled volts with and without a charging source: common practice (reference: 13 to 15 running, 12 to 13 off). */
const runningVolts = 13.2;
const offVolts = 12.9;
/** A crank takes the battery down by so much, and what follows stands higher than before by so much (common practice). */
const crankVolts = 1;
const chargedVolts = 0.3;

export class KeyingWatch {
  private readonly watch: LevelWatch;
  /** what the level is when the set receives */
  private idle: SettledLevel | null = null;
  private keyed: SettledLevel | null = null;
  private radio: Heard["radio"] = null;
  private since: number | null = null;
  private engine: EngineState | null = null;
  private lowest = Number.POSITIVE_INFINITY;

  constructor(private readonly sight: Sight) {
    this.watch = new LevelWatch(sight === "current" ? 1 : 2);
  }

  /** @returns what is known with this value */
  push(seconds: number, value: number): Heard {
    this.watch.push(seconds, value);
    if (this.idle && Math.abs(value) < this.lowest) this.lowest = Math.abs(value);
    const { settled } = this.watch;
    if (settled) this.place(settled);
    else this.move(value);
    return this.heard;
  }

  get heard(): Heard {
    const { settled } = this.watch;
    return { radio: this.radio, sinceSeconds: this.since, engine: this.engine, settled };
  }

  /** Another meter saw the state change at this moment: the level is of what comes from then on. */
  beginAt(seconds: number): void {
    this.watch.beginAt(seconds);
  }

  /** Over range or a lost link: the levels stay known, the value does not. */
  interrupt(): void {
    this.watch.interrupt();
  }

  /** The probes have been moved: nothing of what was heard holds any more, but what the engine does. */
  elsewhere(): void {
    this.watch.interrupt();
    this.idle = null;
    this.keyed = null;
    this.radio = null;
    this.since = null;
    this.lowest = Number.POSITIVE_INFINITY;
  }

  /** While the level moves the set is as it was, until what is seen has gone back half way. */
  private move(value: number): void {
    if (this.radio === "idle" && this.steps(value)) this.becomes("transmit", this.watch.stepSeconds);
    if (this.radio !== "transmit" || !this.idle || !this.keyed) return;
    const whole = Math.abs(this.keyed.value - this.idle.value);
    const back = Math.abs(value - this.keyed.value);
    const nearer = Math.abs(value - this.idle.value) < Math.abs(value - this.keyed.value);
    if (nearer && back > backShare * whole) this.becomes("idle", this.watch.stepSeconds);
  }

  /** A step away from receiving, the way keying goes: seen before the level stands, which then decides. */
  private steps(value: number): boolean {
    const { stepSeconds } = this.watch;
    if (!this.idle || stepSeconds === null || stepSeconds <= this.idle.toSeconds) return false;
    return this.isKeyed({ ...this.idle, value });
  }

  private place(settled: SettledLevel): void {
    if (!this.idle) {
      this.idle = settled;
      this.becomes("idle", settled.fromSeconds);
    } else if (this.cranked(settled)) {
      this.idle = settled;
      this.engine = "running";
      this.becomes("idle", settled.fromSeconds);
    } else if (this.isKeyed(settled)) {
      this.keyed = settled;
      this.becomes("transmit", this.watch.stepSeconds ?? settled.fromSeconds);
    } else {
      this.idle = settled;
      this.lowest = Number.POSITIVE_INFINITY;
      this.becomes("idle", settled.fromSeconds);
    }
    this.judgeEngine(settled);
  }

  private isKeyed(settled: SettledLevel): boolean {
    const idle = this.idle!;
    const grown = Math.abs(settled.value) - Math.abs(idle.value);
    const step = this.sight === "across-load" ? -grown : grown;
    const doubt = clearWidths * Math.hypot(settled.uncertainty, idle.uncertainty);
    if (this.radio === "transmit" && this.keyed) {
      const whole = Math.abs(Math.abs(this.keyed.value) - Math.abs(idle.value));
      return step > Math.max(doubt, backShare * whole);
    }
    return step > Math.max(doubt, leastShare[this.sight] * Math.abs(idle.value));
  }

  private cranked(settled: SettledLevel): boolean {
    if (this.sight !== "across-load" || !this.idle) return false;
    const dipped = Math.abs(this.idle.value) - this.lowest > crankVolts;
    return dipped && Math.abs(settled.value) > Math.abs(this.idle.value) + chargedVolts;
  }

  private judgeEngine(settled: SettledLevel): void {
    if (this.sight !== "across-load" || this.radio !== "idle") return;
    const volts = Math.abs(settled.value);
    if (volts >= runningVolts) this.engine = "running";
    else if (volts <= offVolts && volts > 9) this.engine = "off";
  }

  private becomes(radio: "idle" | "transmit", seconds: number | null): void {
    if (radio === this.radio) return;
    this.radio = radio;
    this.since = seconds;
  }
}
