/**
 * A log that is being taken, on the disk as it grows: every second, or every few hundred rows, a piece of text. What the
 * page holds of it is what has not been written yet. A page that is killed loses that second and nothing else.
 */

import { dateOf } from "./meter-clock.ts";
import { type LiveLog, meterDatabase } from "./meter-database.ts";

/** A piece is written when it has so many rows, or is so old. */
const rowsAPiece = 250;
const secondsAPiece = 1;

/** The lock that says that a page is still at it; a log without one was left behind. */
export const lockOf = (id: string): string => `loopwalk-live-log-${id}`;

export class GrowingLog {
  private rows: string[] = [];
  private entries: string[] = [];
  private piece = 0;
  private writing: Promise<void> | null = null;
  private changed = false;
  private letGo: () => void = () => {};
  private readonly timer: ReturnType<typeof setInterval>;
  /** what went wrong with the disk, where something did */
  onTrouble: (error: unknown) => void = () => {};
  written = 0;

  private constructor(
    public facts: LiveLog,
    private readonly startSeconds: number,
  ) {
    this.rows.push(`seconds,${facts.quantity}`);
    this.timer = setInterval(() => void this.flush(), secondsAPiece * 1000);
  }

  /** @param startSeconds its zero, on the meters' clock */
  static async begun(
    facts: Omit<LiveLog, "id" | "marks" | "startEpochSeconds">,
    startSeconds: number,
  ): Promise<GrowingLog> {
    const startEpochSeconds = dateOf(startSeconds).getTime() / 1000;
    const log = new GrowingLog({ ...facts, id: crypto.randomUUID(), marks: [], startEpochSeconds }, startSeconds);
    const held = new Promise<void>((done) => {
      log.letGo = done;
    });
    void navigator.locks?.request(lockOf(log.facts.id), () => held);
    await (await meterDatabase()).put("logs", log.facts);
    return log;
  }

  /** @param value null: a gap, as over range or a lost link */
  add(seconds: number, value: number | null): void {
    this.rows.push(`${this.since(seconds)},${value === null ? "" : value}`);
    if (this.rows.length >= rowsAPiece) void this.flush();
  }

  /** Bytes as they came, where they are wanted. */
  addBytes(entry: { readonly seconds: number; readonly base64: string }): void {
    this.entries.push(JSON.stringify({ ...entry, seconds: Number(this.since(entry.seconds)) }));
  }

  mark(seconds: number, label: string): void {
    this.facts = { ...this.facts, marks: [...this.facts.marks, { seconds: Number(this.since(seconds)), label }] };
    this.changed = true;
    void this.flush();
  }

  /** What the engine did from its beginning to its end. */
  declareEngine(engine: LiveLog["engine"]): void {
    this.facts = { ...this.facts, engine };
    this.changed = true;
  }

  private since(seconds: number): string {
    return (seconds - this.startSeconds).toFixed(3);
  }

  /** Writes what has not been written; resolves once all of it is on the disk. A slow disk gets fewer, longer pieces. */
  flush(): Promise<void> {
    this.writing ??= this.writeAll().finally(() => {
      this.writing = null;
    });
    return this.writing;
  }

  private async writeAll(): Promise<void> {
    while (this.rows.length > 0 || this.entries.length > 0 || this.changed) {
      this.changed = false;
      const rows = this.rows.splice(0);
      const entries = this.entries.splice(0);
      try {
        await this.write([this.facts.id, this.piece++], rows, entries);
      } catch (error) {
        // what could not be written waits for the next try
        this.rows.unshift(...rows);
        this.entries.unshift(...entries);
        this.onTrouble(error);
        return;
      }
    }
  }

  private async write(key: [string, number], rows: readonly string[], entries: readonly string[]): Promise<void> {
    const db = await meterDatabase();
    const change = db.transaction(["logs", "pieces", "bytes"], "readwrite", { durability: "strict" });
    void change.objectStore("logs").put(this.facts);
    if (rows.length > 0) void change.objectStore("pieces").put(`${rows.join("\n")}\n`, key);
    if (entries.length > 0) void change.objectStore("bytes").put(`${entries.join(",\n")},\n`, key);
    await change.done;
    this.written += rows.length;
  }

  /** Nothing is added any more; all is on the disk when it resolves. */
  async end(): Promise<LiveLog> {
    clearInterval(this.timer);
    await this.flush();
    this.letGo();
    return this.facts;
  }
}

/** The whole text of a log as it stands on the disk. */
export async function textOf(id: string): Promise<Blob> {
  const pieces = await (await meterDatabase()).getAll(
    "pieces",
    IDBKeyRange.bound([id, 0], [id, Number.MAX_SAFE_INTEGER]),
  );
  return new Blob(pieces, { type: "text/csv" });
}

/** Its bytes as a recording that can be played; null where they were not kept. */
export async function bytesOf(id: string): Promise<Blob | null> {
  const range = IDBKeyRange.bound([id, 0], [id, Number.MAX_SAFE_INTEGER]);
  const pieces = await (await meterDatabase()).getAll("bytes", range);
  if (pieces.length === 0) return null;
  const last = pieces.pop()!.replace(/,\n$/, "\n");
  return new Blob(['{"format":"bytes/1","bytes":[\n', ...pieces, last, "]}\n"], { type: "application/json" });
}

export async function letGoOf(id: string): Promise<void> {
  const change = (await meterDatabase()).transaction(["logs", "pieces", "bytes"], "readwrite");
  const range = IDBKeyRange.bound([id, 0], [id, Number.MAX_SAFE_INTEGER]);
  void change.objectStore("logs").delete(id);
  void change.objectStore("pieces").delete(range);
  void change.objectStore("bytes").delete(range);
  await change.done;
}

/** Logs of pages that are gone. */
export async function leftBehind(): Promise<LiveLog[]> {
  const all = await (await meterDatabase()).getAll("logs");
  const held = new Set(((await navigator.locks?.query())?.held ?? []).map(({ name }) => name));
  return all.filter(({ id }) => !held.has(lockOf(id)));
}
