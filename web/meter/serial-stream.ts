/**
 * A meter on a serial port of this device, at any speed and framing. A wrong bit is counted and passed over; a port
 * that was pulled out is opened again as soon as it is back.
 */
import { meterNow } from "./meter-clock.ts";
import { inTime, LinkTrouble, type MeterStream, pause, retrySeconds, type StreamListener } from "./meter-stream.ts";

export interface SerialSettings {
  readonly baudRate: number;
  readonly dataBits: 7 | 8;
  readonly stopBits: 1 | 2;
  readonly parity: "none" | "even" | "odd";
}

export const usualSerial: SerialSettings = { baudRate: 9600, dataBits: 8, stopBits: 1, parity: "none" };

const callSeconds = 5;

export class SerialStream implements MeterStream {
  readonly kind = "serial";
  readonly name: string;
  /** parity, framing and overrun errors of the line, which cost a byte or more each */
  lineErrors = 0;
  private listener: StreamListener | null = null;
  private reader: ReadableStreamDefaultReader<Uint8Array> | null = null;
  private reading: Promise<void> = Promise.resolve();

  constructor(
    private port: SerialPort,
    private readonly settings: SerialSettings = usualSerial,
  ) {
    this.name = `Serial meter, ${settings.baudRate} bits a second`;
  }

  async open(listener: StreamListener): Promise<void> {
    this.listener = listener;
    listener.state("opening");
    try {
      await this.openPort();
    } catch (error) {
      this.listener = null;
      listener.state("closed");
      throw new LinkTrouble(refusal(error as Error));
    }
    this.reading = this.readOn();
  }

  private async openPort(): Promise<void> {
    await inTime(this.port.open({ ...this.settings, bufferSize: 65_536 }), callSeconds, "opening the port");
    // some meters feed their link from these lines; a port without them refuses, and works all the same
    await this.port.setSignals({ dataTerminalReady: true, requestToSend: true }).catch(() => {});
    this.listener?.state("open");
  }

  private async readOn(): Promise<void> {
    while (this.listener) {
      await this.readUntilLost();
      if (!this.listener) return;
      this.listener.state("lost");
      await this.port.close().catch(() => {});
      await this.openAgain();
    }
  }

  /** A line error ends the stream of bytes but not the port: it then has a new one. */
  private async readUntilLost(): Promise<void> {
    while (this.listener && this.port.readable) {
      const reader = this.port.readable.getReader();
      this.reader = reader;
      try {
        for (let piece = await reader.read(); !piece.done; piece = await reader.read()) {
          this.listener?.bytes({ seconds: meterNow(), bytes: piece.value });
        }
        return;
      } catch (error) {
        if ((error as Error).name === "NetworkError") return;
        this.lineErrors++;
      } finally {
        this.reader = null;
        reader.releaseLock();
      }
    }
  }

  private async openAgain(): Promise<void> {
    for (let tries = 0; this.listener; tries++) {
      await pause(retrySeconds(tries));
      this.port = await this.samePort();
      const opened = await this.openPort().then(
        () => true,
        () => false,
      );
      if (opened) return;
    }
  }

  /** Plugged in again, a port may be another object with the same identity. */
  private async samePort(): Promise<SerialPort> {
    const ports = (await navigator.serial?.getPorts()) ?? [];
    if (ports.includes(this.port)) return this.port;
    const { usbVendorId, usbProductId } = this.port.getInfo();
    const alike = ports.find((port) => {
      const info = port.getInfo();
      return info.usbVendorId === usbVendorId && info.usbProductId === usbProductId;
    });
    return alike ?? this.port;
  }

  async send(bytes: Uint8Array): Promise<void> {
    const { writable } = this.port;
    if (!writable || !this.listener) throw new LinkTrouble("Nothing can be sent to this meter just now.");
    const writer = writable.getWriter();
    try {
      await inTime(writer.write(bytes), callSeconds, "sending to it");
    } finally {
      writer.releaseLock();
    }
  }

  async close(): Promise<void> {
    const { listener } = this;
    this.listener = null;
    await inTime(this.reader?.cancel() ?? Promise.resolve(), callSeconds, "closing").catch(() => {});
    await inTime(this.reading, callSeconds, "closing").catch(() => {});
    await this.port.close().catch(() => {});
    listener?.state("closed");
  }
}

function refusal({ name, message }: Error): string {
  if (name === "InvalidStateError")
    return "This port is already open: another window of this browser may be reading it.";
  if (name === "NetworkError")
    return "The port cannot be opened: plug the cable in, and close other programs that use the port.";
  return `The port cannot be opened: ${message}`;
}
