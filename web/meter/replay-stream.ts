/** A recorded byte log played as if live, at any speed; losses of the link are played too. */

import { fromBase64 } from "./base64.ts";
import type { ByteLog } from "./byte-log.ts";
import { meterNow } from "./meter-clock.ts";
import { type LinkState, LinkTrouble, type MeterStream, type StreamListener } from "./meter-stream.ts";

type Due = { readonly seconds: number } & (
  | { readonly base64: string; readonly channel?: string }
  | { readonly state: LinkState }
);

/** At full speed so many entries a turn, so that the page stays alive. */
const entriesATurn = 2_000;

export class ReplayStream implements MeterStream {
  readonly kind = "replay";
  /** what was sent to the meter, for those who ask */
  readonly sent: Uint8Array[] = [];
  private listener: StreamListener | null = null;
  private readonly due: readonly Due[];
  private next = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;

  /** @param speed 1: as it was; 60: a minute in a second; Infinity: as fast as it goes */
  constructor(
    log: ByteLog,
    private readonly speed = 1,
    readonly name = "Recorded meter",
  ) {
    this.due = [...log.bytes, ...(log.states ?? [])].toSorted((a, b) => a.seconds - b.seconds);
  }

  async open(listener: StreamListener): Promise<void> {
    if (this.due.length === 0) throw new LinkTrouble("This recording holds no bytes: choose another.");
    this.listener = listener;
    listener.state("opening");
    listener.state("open");
    const began = meterNow();
    const first = this.due[0]!.seconds;
    const play = () => {
      const playedTo = first + (meterNow() - began) * this.speed;
      for (let turn = 0; turn < entriesATurn && this.listener; turn++) {
        const entry = this.due[this.next];
        if (!entry) return this.ended();
        if (entry.seconds > playedTo) break;
        this.next++;
        this.give(entry, began + entry.seconds - first);
      }
      if (!this.listener) return;
      const waits = this.due[this.next] ? (this.due[this.next]!.seconds - playedTo) / this.speed : 0;
      this.timer = setTimeout(play, Math.max(waits, 0) * 1000);
    };
    this.timer = setTimeout(play);
  }

  private give(entry: Due, seconds: number): void {
    if ("state" in entry) this.listener?.state(entry.state);
    else {
      const { base64, channel } = entry;
      this.listener?.bytes({ seconds, bytes: fromBase64(base64), ...(channel ? { channel } : {}) });
    }
  }

  private ended(): void {
    this.listener?.state("closed");
    this.listener = null;
  }

  async send(bytes: Uint8Array): Promise<void> {
    if (!this.listener) throw new LinkTrouble("The recording has ended.");
    this.sent.push(bytes);
  }

  async close(): Promise<void> {
    clearTimeout(this.timer);
    this.ended();
  }
}
