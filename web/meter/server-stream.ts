/** A meter on a serial port of the server's machine, for browsers without serial ports: over GET /api/live. */
import { fromBase64 } from "./base64.ts";
import { onMeterClock } from "./meter-clock.ts";
import { inTime, LinkTrouble, type MeterStream, pause, retrySeconds, type StreamListener } from "./meter-stream.ts";
import { type SerialSettings, usualSerial } from "./serial-stream.ts";

const openSeconds = 8;

export interface ServerPort {
  readonly path: string;
  readonly words: string;
}

/** @returns null where there is no server, or one that lists none */
export async function serverPorts(): Promise<ServerPort[] | null> {
  try {
    const answer = await fetch("api/live/ports", { headers: { accept: "application/json" } });
    if (!answer.ok || !answer.headers.get("content-type")?.includes("json")) return null;
    return ((await answer.json()) as { ports: ServerPort[] }).ports;
  } catch {
    return null;
  }
}

export class ServerStream implements MeterStream {
  readonly kind = "server";
  readonly name: string;
  private readonly address: string;
  private listener: StreamListener | null = null;
  private events: EventSource | null = null;
  /** clocks of server and browser may be far apart: the least delay seen is taken as the link's own */
  private behindSeconds = Number.POSITIVE_INFINITY;
  private isOpen = false;

  constructor(
    private readonly path: string,
    settings: SerialSettings = usualSerial,
  ) {
    this.name = `Meter on the server's ${path}`;
    const fields = Object.entries({ port: path, ...settings, bytes: 1 }).map(([name, value]) => [name, String(value)]);
    this.address = `api/live?${new URLSearchParams(fields)}`;
  }

  async open(listener: StreamListener): Promise<void> {
    this.listener = listener;
    listener.state("opening");
    try {
      await inTime(this.connect(), openSeconds, "opening the server's port");
    } catch (error) {
      const words = await this.reason();
      await this.close();
      throw new LinkTrouble(words ?? (error as Error).message);
    }
  }

  private connect(): Promise<void> {
    return new Promise((done, failed) => {
      const events = new EventSource(this.address);
      this.events = events;
      events.addEventListener("state", ({ data }) => {
        this.setOpen((JSON.parse(data) as { state: string }).state === "open");
        done();
      });
      events.addEventListener("bytes", ({ data }) => this.take(data));
      events.onerror = () => {
        this.setOpen(false);
        if (events.readyState !== EventSource.CLOSED) return;
        failed(new LinkTrouble("The server does not read this port."));
        if (this.events === events && this.wasOpen) void this.seek();
      };
    });
  }

  private wasOpen = false;

  private setOpen(open: boolean): void {
    if (open === this.isOpen && this.wasOpen) return;
    this.isOpen = open;
    if (open) this.wasOpen = true;
    if (this.wasOpen) this.listener?.state(open ? "open" : "lost");
  }

  /** An event source gives up at the first refusal; the port may only be unplugged. */
  private async seek(): Promise<void> {
    this.events?.close();
    this.events = null;
    for (let tries = 0; this.listener; tries++) {
      await pause(retrySeconds(tries));
      if (!this.listener) return;
      const made = await this.connect().then(
        () => true,
        () => false,
      );
      if (made) return;
    }
  }

  private take(data: string): void {
    const { seconds, base64 } = JSON.parse(data) as { seconds: number; base64: string };
    const arrived = onMeterClock(Date.now() / 1000);
    const behind = arrived - seconds;
    // a clock that was set shows as a jump of more than a stall could be
    if (behind < this.behindSeconds || behind > this.behindSeconds + 60) this.behindSeconds = behind;
    this.listener?.bytes({ seconds: seconds + this.behindSeconds, bytes: fromBase64(base64) });
  }

  /** Why the server refuses, in its own sentence. */
  private async reason(): Promise<string | null> {
    try {
      const answer = await fetch(this.address, { signal: AbortSignal.timeout(4_000) });
      if (answer.ok) return null;
      return ((await answer.json()) as { detail?: string }).detail ?? null;
    } catch {
      return null;
    }
  }

  async send(bytes: Uint8Array): Promise<void> {
    const answer = await fetch(`api/live?${new URLSearchParams({ port: this.path })}`, {
      method: "POST",
      headers: { "content-type": "application/octet-stream" },
      body: bytes as BodyInit,
    }).catch(() => null);
    if (!answer?.ok) throw new LinkTrouble("Nothing can be sent to this meter just now.");
  }

  async close(): Promise<void> {
    const { listener } = this;
    this.listener = null;
    this.events?.close();
    listener?.state("closed");
  }
}
