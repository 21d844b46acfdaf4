/**
 * A meter that is connected: its stream, the recipe that reads it, and what it shows now. Readings go to whoever listens;
 * its latest bytes are kept for teaching.
 */
import { type Signal, signal } from "@preact/signals";
import { type Reading, type Recipe, StreamReader } from "../../analysis/index.ts";
import { fromBase64 } from "./base64.ts";
import { meterNow } from "./meter-clock.ts";
import type { MeterLink } from "./meter-database.ts";
import type { Chunk, LinkState, MeterStream } from "./meter-stream.ts";

export type Quantity = "volts" | "amps";

/** What the display is taken to show: SI, and when. */
export interface Shown {
  readonly seconds: number;
  /** null: over range */
  readonly value: number | null;
  readonly quantity: Quantity | null;
  readonly held: boolean;
}

/** Bytes of so many seconds are kept for teaching, and no more than so many pieces. */
const heardSeconds = 600;
const heardAtMost = 20_000;
/** A meter that says nothing for so long sleeps, or was switched off. */
export const silentSeconds = 4;

export class LiveMeter {
  readonly id = crypto.randomUUID();
  readonly link: Signal<LinkState> = signal("opening");
  readonly shown = signal<Shown | null>(null);
  /** frames that were no reading, since it was connected */
  readonly damaged = signal(0);
  readonly good = signal(0);
  readonly silent = signal(false);
  readonly recipe = signal<Recipe | null>(null);
  readonly label = signal("");
  /** decimals of its display, in SI: the most that it has shown, at least a meter's usual ones */
  decimals = 1;
  /** the latest bytes, as they came */
  heard: Chunk[] = [];
  /** what was heard in all */
  chunks = 0;
  private reader: StreamReader | null = null;
  private readonly ears = new Set<(shown: Shown) => void>();
  private readonly byteEars = new Set<(chunk: Chunk) => void>();
  private lastSeconds = meterNow();
  private silence: ReturnType<typeof setInterval> | undefined;
  private asking: ReturnType<typeof setInterval> | undefined;

  constructor(
    readonly stream: MeterStream,
    readonly reach: MeterLink | null,
  ) {
    this.label.value = stream.name;
  }

  async open(): Promise<void> {
    await this.stream.open({
      bytes: (chunk) => this.take(chunk),
      state: (state) => {
        this.link.value = state;
        if (state !== "open") this.shown.value = null;
        else this.lastSeconds = meterNow();
      },
    });
    this.silence = setInterval(() => this.watchSilence(), 500);
  }

  private watchSilence(): void {
    this.silent.value = this.link.value === "open" && meterNow() - this.lastSeconds > silentSeconds;
    if (this.silent.value) this.shown.value = null;
  }

  private take(chunk: Chunk): void {
    this.lastSeconds = meterNow();
    this.silent.value = false;
    if (this.reach?.characteristic && chunk.channel && chunk.channel !== this.reach.characteristic) return;
    this.chunks++;
    this.heard.push(chunk);
    for (const ear of this.byteEars) ear(chunk);
    if (this.heard.length > heardAtMost || this.heard.length % 500 === 0) this.dropOld(chunk.seconds);
    for (const reading of this.reader?.push(chunk) ?? []) this.show(reading);
  }

  private dropOld(now: number): void {
    const first = this.heard.findIndex(({ seconds }) => seconds > now - heardSeconds);
    this.heard = this.heard.slice(Math.max(first, this.heard.length - heardAtMost, 0));
  }

  private show(reading: Reading): void {
    if ("damaged" in reading) {
      this.damaged.value++;
      return;
    }
    this.good.value++;
    const shown = shownOf(reading);
    if (shown.value !== null) this.decimals = Math.max(this.decimals, decimalsOf(shown));
    this.shown.value = shown;
    for (const ear of this.ears) ear(shown);
  }

  /** Reads with this recipe from now on; asks as it says, where the meter only answers. */
  use(recipe: Recipe, label: string): void {
    this.recipe.value = recipe;
    this.label.value = label;
    this.reader = new StreamReader(recipe);
    this.damaged.value = 0;
    this.good.value = 0;
    this.decimals = 1;
    clearInterval(this.asking);
    const { ask } = recipe;
    if (!ask) return;
    const bytes = fromBase64(ask.base64);
    const again = () => void this.stream.send(bytes).catch(() => {});
    again();
    this.asking = setInterval(again, ask.everySeconds * 1000);
  }

  listen(ear: (shown: Shown) => void): () => void {
    this.ears.add(ear);
    return () => this.ears.delete(ear);
  }

  listenToBytes(ear: (chunk: Chunk) => void): () => void {
    this.byteEars.add(ear);
    return () => this.byteEars.delete(ear);
  }

  async close(): Promise<void> {
    clearInterval(this.silence);
    clearInterval(this.asking);
    this.ears.clear();
    this.byteEars.clear();
    await this.stream.close();
  }
}

function shownOf(reading: Exclude<Reading, { damaged: true }>): Shown {
  const { seconds } = reading;
  if ("overRange" in reading) return { seconds, value: null, quantity: null, held: false };
  const { value, unit, held = false } = reading;
  const factor = unit.startsWith("m") ? 1e-3 : 1;
  return {
    seconds,
    // a product of decimals, without the dust of binary fractions
    value: Number((value * factor).toPrecision(12)),
    quantity: unit.endsWith("V") ? "volts" : "amps",
    held,
  };
}

/** Hundredths of a volt and tenths of an ampere at least: 12.50 V comes as 12.5. At most a tenth of a millivolt. */
function decimalsOf({ value, quantity }: Shown): number {
  const written = String(value).split(".")[1]?.length ?? 0;
  return Math.min(Math.max(written, quantity === "amps" ? 1 : 2), 4);
}
