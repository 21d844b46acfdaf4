/**
 * One serial port of this machine, held open while anybody listens: bytes with the moment they came, and whether the
 * line is up. A port that was unplugged is opened again as soon as it is back.
 */
import { stat } from "node:fs/promises";
import type { SerialPort } from "serialport";

export interface LineSettings {
  readonly path: string;
  readonly baudRate: number;
  readonly dataBits: 5 | 6 | 7 | 8;
  readonly stopBits: 1 | 2;
  readonly parity: "none" | "even" | "odd";
}

export type LineState = "open" | "lost";

export interface LineListener {
  /** @param milliseconds of the machine's clock, since the epoch */
  bytes(bytes: Uint8Array, milliseconds: number): void;
  state(state: LineState): void;
}

const reopenMilliseconds = 500;
/** A write to a port that has gone never calls back. */
const writeMilliseconds = 2_000;

const held = new Map<string, SerialLine>();

/** What two that listen to one port must agree on. */
const settingsOf = ({ baudRate, dataBits, stopBits, parity }: LineSettings): string =>
  `${baudRate} ${dataBits}${parity.charAt(0).toUpperCase()}${stopBits}`;

/**
 * Listens to a port; the first who does opens it, the last who leaves closes it.
 * @returns what ends the listening
 * @throws {Error} in a sentence, where the port cannot be opened or is open with other settings
 */
export async function listenTo(settings: LineSettings, listener: LineListener): Promise<() => void> {
  const line = held.get(settings.path) ?? new SerialLine(settings);
  if (settingsOf(line.settings) !== settingsOf(settings)) {
    throw new Error(
      `${settings.path} is already being read at ${settingsOf(line.settings)}: choose the same settings.`,
    );
  }
  held.set(settings.path, line);
  const leave = () => {
    line.listeners.delete(listener);
    if (line.listeners.size > 0) return;
    if (held.get(settings.path) === line) held.delete(settings.path);
    line.close();
  };
  line.listeners.add(listener);
  try {
    await line.opened;
  } catch (error) {
    leave();
    throw error;
  }
  return leave;
}

/** Sends bytes to a port that somebody listens to. @throws {Error} in a sentence */
export async function sendTo(path: string, bytes: Uint8Array): Promise<void> {
  const line = held.get(path);
  if (!line) throw new Error(`${path} is not being read: only a port that is can be written to.`);
  await line.send(bytes);
}

class SerialLine {
  readonly listeners = new Set<LineListener>();
  /** settles once the port was opened for the first time */
  readonly opened: Promise<void>;
  private port: SerialPort | null = null;
  private closed = false;
  private retry: NodeJS.Timeout | undefined;

  constructor(readonly settings: LineSettings) {
    this.opened = this.open();
  }

  private async open(): Promise<void> {
    const { path, ...line } = this.settings;
    await checkDevice(path);
    const { SerialPort } = await import("serialport");
    const port = new SerialPort({ path, ...line, autoOpen: false });
    await new Promise<void>((done, failed) => {
      port.open((error) => (error ? failed(new Error(`${path} cannot be opened: ${inWords(error)}.`)) : done()));
    });
    if (this.closed) return port.close();
    this.port = port;
    port.on("data", (bytes: Buffer) => {
      const milliseconds = Date.now();
      for (const listener of this.listeners) listener.bytes(bytes, milliseconds);
    });
    port.on("error", () => {});
    port.once("close", () => this.lost());
  }

  private lost(): void {
    this.port = null;
    if (this.closed) return;
    for (const listener of this.listeners) listener.state("lost");
    this.openAgain();
  }

  private openAgain(): void {
    this.retry = setTimeout(() => {
      this.open().then(
        () => {
          for (const listener of this.listeners) listener.state("open");
        },
        () => !this.closed && this.openAgain(),
      );
    }, reopenMilliseconds);
  }

  async send(bytes: Uint8Array): Promise<void> {
    const { port } = this;
    if (!port?.isOpen) throw new Error(`${this.settings.path} is not connected just now.`);
    await new Promise<void>((done, failed) => {
      const patience = setTimeout(() => failed(new Error(`${this.settings.path} takes no bytes.`)), writeMilliseconds);
      port.write(Buffer.from(bytes), (error) => {
        clearTimeout(patience);
        if (error) failed(new Error(`${this.settings.path} takes no bytes: ${inWords(error)}.`));
        else done();
      });
    });
  }

  close(): void {
    this.closed = true;
    clearTimeout(this.retry);
    if (this.port?.isOpen) this.port.close();
    this.port = null;
  }
}

/** Only a device is ever opened: a file of this machine is none. @throws {Error} in a sentence */
async function checkDevice(path: string): Promise<void> {
  if (!path.startsWith("/")) return;
  const there = await stat(path).catch(() => null);
  if (!there?.isCharacterDevice()) throw new Error(`${path} is not there: plug the cable in, or choose another port.`);
}

/** The binding's own words without what repeats the path: 'No such file or directory'. */
const inWords = ({ message }: Error): string =>
  message
    .replace(/^Error:?\s*/, "")
    .replace(/, cannot open .*$/, "")
    .replace(/\.$/, "");
