/**
 * A meter's bytes, however they come: Bluetooth, a serial port of the browser, one of the server, or a recording.
 * Whatever the source, it opens, gives bytes with the moment they came, says how the link stands, and closes.
 */

export interface Chunk {
  /** on the one clock of all meters (meter-clock.ts) */
  readonly seconds: number;
  readonly bytes: Uint8Array;
  /** where a link has several ways in: which of them, as the UUID of a characteristic */
  readonly channel?: string;
}

/** `lost`: it was up and is being sought; the stream goes on by itself as soon as it is back. */
export type LinkState = "opening" | "open" | "lost" | "closed";

export interface StreamListener {
  bytes(chunk: Chunk): void;
  state(state: LinkState): void;
}

export interface MeterStream {
  readonly kind: "bluetooth" | "serial" | "server" | "replay";
  /** what the person knows it by */
  readonly name: string;
  /**
   * Opens once; a stream that was closed is not opened again.
   * @throws {LinkTrouble} where it cannot be opened at first; later losses are states
   */
  open(listener: StreamListener): Promise<void>;
  /** @throws {LinkTrouble} where the bytes did not get there */
  send(bytes: Uint8Array): Promise<void>;
  close(): Promise<void>;
}

/** What went wrong with a link, in a sentence that says what to do next. */
export class LinkTrouble extends Error {}

/**
 * A call that may never answer, given up after so long: a pending read at link loss stays pending for ever
 * (seen in a real browser), and so does a connection that the other side does not take.
 */
export function inTime<Answer>(work: Promise<Answer>, seconds: number, what: string): Promise<Answer> {
  return new Promise((done, failed) => {
    const patience = setTimeout(
      () => failed(new LinkTrouble(`The meter did not answer within ${seconds} s (${what}).`)),
      seconds * 1000,
    );
    work.then(done, failed).finally(() => clearTimeout(patience));
  });
}

export const pause = (seconds: number): Promise<void> => new Promise((done) => setTimeout(done, seconds * 1000));

/** How long to wait before trying a lost link again: soon at first, then every few seconds. */
export const retrySeconds = (tries: number): number => Math.min(0.5 * 2 ** tries, 4);
