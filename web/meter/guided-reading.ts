/**
 * One reading being taken live: hears the meters, says what is waited for, keeps the captured level as a reading of the
 * job, and all that came as a log of each meter.
 */
import { effect, signal } from "@preact/signals";
import {
  type Captured,
  type EngineState,
  GuidedCapture,
  type Job,
  type RadioState,
  routeBetween,
  type Sight,
  type TypedReading,
  type Waiting,
} from "../../analysis/index.ts";
import { keepReading } from "../job/measuring.ts";
import { editJob, job, openJob, saveTrouble } from "../job/open-job.ts";
import { savingProblem } from "../storage/room.ts";
import { written } from "./byte-log.ts";
import { feedbackWish, saySeen, sayTaken, sayTrouble } from "./feedback.ts";
import { keepFinished } from "./finished-log.ts";
import { GrowingLog } from "./live-log.ts";
import type { LiveMeter, Quantity } from "./live-meter.ts";
import { dateOf, meterNow } from "./meter-clock.ts";
import { followTone } from "./tone.ts";

export interface LivePlace {
  readonly quantity: Quantity;
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
}

export interface Placed {
  readonly meter: LiveMeter;
  readonly place: LivePlace;
  /** id of the job's meter, whose accuracy then counts */
  readonly meterId: string;
}

export interface ReadingWish {
  readonly radio: RadioState;
  readonly engine: EngineState;
  readonly round: string;
  /** a log without a reading to be taken: the wiggle test */
  readonly logOnly?: boolean;
}

export interface Progress {
  readonly waiting: Waiting;
  readonly radio: "idle" | "transmit" | null;
  readonly engine: EngineState | null;
  /** how long the key has been down */
  readonly keyedForSeconds: number | null;
}

export class GuidedReading {
  readonly progress = signal<Progress>({ waiting: "values", radio: null, engine: null, keyedForSeconds: null });
  readonly captured = signal<Captured | null>(null);
  readonly readings = signal<readonly TypedReading[]>([]);
  readonly ended = signal(false);
  private capture: GuidedCapture;
  private logs: GrowingLog[] = [];
  private stopping: (() => void)[] = [];
  /** what came before the logs were begun */
  private readonly early: (() => void)[] = [];

  private constructor(
    readonly placed: readonly Placed[],
    readonly wish: ReadingWish,
    private readonly jobId: string,
  ) {
    this.capture = this.freshCapture();
  }

  static async begun(placed: readonly Placed[], wish: ReadingWish): Promise<GuidedReading> {
    const reading = new GuidedReading(placed, wish, openJob.value!.id);
    reading.listen();
    await reading.beginLogs();
    return reading;
  }

  private freshCapture(): GuidedCapture {
    const sights = this.placed.map(({ place }) => sightOf(job.value!, place));
    return new GuidedCapture(sights, { radio: this.wish.radio, engine: this.wish.engine });
  }

  private listen(): void {
    this.placed.forEach(({ meter }, index) => {
      this.stopping.push(
        meter.listen(({ seconds, value, held, quantity }) => {
          // a meter turned to another quantity shows nothing of this place
          const fits = !held && quantity === this.placed[index]!.place.quantity;
          this.take(index, seconds, fits ? value : null);
        }),
        meter.listenToBytes((chunk) => {
          if (feedbackWish.value.bytes) this.logs[index]?.addBytes(written(chunk));
        }),
        effect(() => {
          if (meter.link.value === "lost") this.lost(index);
        }),
      );
    });
    const timer = setInterval(() => this.show(), 200);
    this.stopping.push(() => clearInterval(timer));
  }

  private async beginLogs(): Promise<void> {
    const start = meterNow();
    const taken = new Set(Object.keys(openJob.value!.files));
    const logs: GrowingLog[] = [];
    for (const { place, meterId } of this.placed) {
      const file = logName(place, start, taken);
      taken.add(file);
      const { quantity, from, to, through } = place;
      const meter = meterId ? { meter: meterId } : {};
      const facts = { jobId: this.jobId, file, round: this.wish.round, quantity, from, to, through, ...meter };
      const log = await GrowingLog.begun(facts, start);
      log.onTrouble = (error) => {
        saveTrouble.value = savingProblem(error);
      };
      logs.push(log);
    }
    this.logs = logs;
    for (const add of this.early.splice(0)) add();
  }

  private take(index: number, seconds: number, value: number | null): void {
    if (this.ended.value) return;
    const add = () => this.logs[index]?.add(seconds, value);
    if (this.logs.length > 0) add();
    else this.early.push(add);
    if (index === 0) followTone(value);
    if (value === null) {
      this.capture.interrupt(index);
      this.show();
      return;
    }
    if (this.wish.logOnly) return;
    const { engine } = this.capture;
    if (engine !== null && engine !== this.wish.engine) this.engineDiffered = true;
    const before = this.capture.radio;
    const captured = this.capture.push(index, seconds, value);
    if (this.capture.radio === "transmit" && before !== "transmit" && this.wish.radio === "transmit") saySeen();
    if (captured) this.keep(captured);
    this.show();
  }

  private lost(index: number): void {
    this.capture.interrupt(index);
    this.logs[index]?.add(meterNow(), null);
    followTone(null);
    sayTrouble("Link lost");
    this.show();
  }

  private show(): void {
    const { waiting, radio, engine } = this.capture;
    const since = radio === "transmit" ? this.keyedSince() : null;
    const keyedForSeconds = since === null ? null : Math.max(0, Math.floor(meterNow() - since));
    const next = { waiting, radio, engine, keyedForSeconds };
    if (JSON.stringify(next) !== JSON.stringify(this.progress.value)) this.progress.value = next;
  }

  private keyedSince(): number | null {
    if (this.said !== null) return this.said;
    return this.capture.heard().find(({ radio }) => radio === "transmit")?.sinceSeconds ?? null;
  }

  private said: number | null = null;
  /** one log being closed and the next begun */
  private changing: Promise<void> = Promise.resolve();
  private engineDiffered = false;

  /** The person keys it, where no meter can see that. */
  sayKeyed(): void {
    this.said = meterNow();
    this.capture.sayKeyed(this.said);
    this.show();
  }

  takeAnyEngine(): void {
    this.capture.takeAnyEngine();
  }

  private keep(captured: Captured): void {
    const readings = captured.levels.map((level, index) => this.readingOf(captured, level.value, index));
    this.captured.value = captured;
    this.readings.value = readings;
    for (const reading of readings) keepReading(reading);
    this.logs.forEach((log, index) => {
      if (!this.engineDiffered) log.declareEngine(this.wish.engine);
      log.mark(captured.levels[index]!.toSeconds, "reading taken");
      void log.flush();
    });
    const [reading] = readings;
    sayTaken(`${spoken(reading!)}. ${this.wish.radio === "transmit" ? "Release." : ""}`);
  }

  private readingOf({ seconds, keyedSeconds }: Captured, value: number, index: number): TypedReading {
    const { place, meter, meterId } = this.placed[index]!;
    const { quantity, from, to, through } = place;
    const shown = Number(value.toFixed(meter.decimals));
    const { round, radio, engine } = this.wish;
    return {
      round,
      ...(meterId ? { meter: meterId } : {}),
      ...(quantity === "amps" ? { through, amps: shown } : { from, to, volts: shown }),
      engine,
      radio,
      ...(radio === "transmit" ? { rfInto: "dummy-load" as const } : {}),
      ...(keyedSeconds === null ? {} : { keyedSeconds: Math.max(0, Math.round((seconds - keyedSeconds) * 10) / 10) }),
      takenAt: dateOf(seconds).toISOString(),
      ...(this.logs[index] ? { log: this.logs[index].facts.file } : {}),
    };
  }

  /** The captured reading is taken out of the job again. */
  private takeBack(): void {
    const gone = new Set(this.readings.value.map(({ takenAt, log }) => `${takenAt} ${log}`));
    editJob((document) => {
      document.readings = document.readings.filter(({ takenAt, log }) => !gone.has(`${takenAt} ${log}`));
    });
    this.readings.value = [];
  }

  /** Not that one: it is taken back, and the same place is heard afresh. Its log is kept, but speaks for no place. */
  refuse(): Promise<void> {
    this.takeBack();
    this.again();
    this.changing = this.endLogs(false).then(() => this.beginLogs());
    return this.changing;
  }

  /** That one and another: the same place once more. */
  again(): void {
    this.capture = this.freshCapture();
    this.captured.value = null;
    this.readings.value = [];
    this.said = null;
    this.show();
  }

  /** Something happened just now: a tap in the log. */
  mark(label: string): void {
    const now = meterNow();
    for (const log of this.logs) log.mark(now, label);
  }

  /** Ends, and keeps the logs in the job. */
  async end(): Promise<void> {
    if (this.ended.value) return;
    this.ended.value = true;
    await this.changing;
    for (const stop of this.stopping.splice(0)) stop();
    await this.endLogs(true);
  }

  private async endLogs(placed: boolean): Promise<void> {
    try {
      for (const log of this.logs.splice(0)) await keepFinished(await log.end(), placed);
    } catch (error) {
      saveTrouble.value = savingProblem(error);
    }
  }
}

export function sightOf(document: Job, { quantity, from, to }: LivePlace): Sight {
  if (quantity === "amps") return "current";
  return routeBetween(document, from!, to!).throughLoad ? "across-load" : "drop";
}

const plain = (point: string | undefined): string => (point ?? "").replace("+", " plus").replace(/-$/, " minus");

/** 'live load plus to load minus.csv', numbered where the job has such a log. */
function logName({ from, to, through }: LivePlace, seconds: number, taken: ReadonlySet<string>): string {
  const place = through === undefined ? `${plain(from)} to ${plain(to)}` : `clamp on ${through}`;
  const stem = `live ${place} ${dateOf(seconds).toISOString().slice(0, 16).replaceAll(":", "-")}`.replaceAll(
    /[^\w.-]+/g,
    "-",
  );
  let name = `${stem}.csv`;
  for (let number = 2; taken.has(name); number++) name = `${stem}-${number}.csv`;
  return name;
}

const spoken = ({ volts, amps }: TypedReading): string => (amps === undefined ? `${volts} volts` : `${amps} amps`);
