/**
 * GET /api/live?port=…: a meter on a serial port of this machine, as server-sent events. Readings come as plain
 * messages, in the shape of `readings` of formats.md section 4; `state` says whether the line is up, `bytes` what came.
 */
import { Hono } from "hono";
import { type SSEStreamingApi, streamSSE } from "hono/streaming";
import * as v from "valibot";
import { Problem } from "../../analysis/index.ts";
import { meterReader } from "../live/meter-reader.ts";
import { type LineListener, type LineSettings, type LineState, listenTo, sendTo } from "../live/serial-line.ts";
import { serialPorts } from "../live/serial-ports.ts";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";
import { bodyBytes, type Env, query } from "../request.ts";

/** Whether a device stands there is seen before it is opened. */
const PortSchema = v.pipe(
  v.string(),
  v.regex(/^(\/[^\0]{1,400}|COM\d{1,3})$/i, "a serial port, as /dev/ttyUSB0 or COM3"),
);
const numberFrom = <const Choices extends readonly number[]>(choices: Choices) =>
  v.pipe(
    v.string(),
    v.picklist(choices.map(String), `one of ${choices.join(", ")}`),
    v.transform((text) => Number(text) as Choices[number]),
  );

export const LiveQuerySchema = v.object({
  port: PortSchema,
  baudRate: v.optional(
    v.pipe(v.string(), v.regex(/^[1-9]\d{1,6}$/, "a number of bits a second, as 9600"), v.transform(Number)),
    "9600",
  ),
  dataBits: v.optional(numberFrom([5, 6, 7, 8]), "8"),
  stopBits: v.optional(numberFrom([1, 2]), "1"),
  parity: v.optional(v.picklist(["none", "even", "odd"], "one of none, even, odd"), "none"),
  /** name of a built-in recipe, or a recipe as JSON; left out: the built-in one that reads what comes */
  recipe: v.optional(v.pipe(v.string(), v.maxLength(8_000, "the name of a built-in recipe, or a recipe as JSON"))),
  /** 1: the bytes as they come, too */
  bytes: v.optional(v.picklist(["0", "1"], "0 or 1"), "0"),
});
const SendQuerySchema = v.object({ port: PortSchema });
const PortsSchema = v.object({ ports: v.array(v.object({ path: v.string(), words: v.string() })) });

export const livePaths: Paths = {
  "/api/live": {
    get: {
      summary: "Readings of a meter on a serial port of this machine, as they come; ends when the client leaves",
      query: LiveQuerySchema,
      answers: { 200: { words: "Server-sent events", media: "text/event-stream" } },
      problems: [400, 422],
    },
    post: {
      summary: "Sends bytes to a port that is being read: what asks a meter for a reading",
      query: SendQuerySchema,
      body: { "application/octet-stream": null },
      answers: { 204: { words: "They are sent" } },
      problems: [400, 413, 422],
    },
  },
  "/api/live/ports": {
    get: {
      summary: "Serial ports of this machine",
      answers: { 200: { words: "Those that the system lists", media: "application/json", schema: PortsSchema } },
    },
  },
};

const sentBytesAtMost = 4_096;
const heartbeatMilliseconds = 15_000;
/** A client that takes so few of its events is given up: it will come again. */
const waitingAtMost = 5_000;

/** @param stopping aborted when the server is told to stop: whoever listens is let go then */
export function live(stopping?: AbortSignal) {
  return new Hono<Env>()
    .get("/ports", async (c) => {
      c.header("cache-control", "no-store");
      return c.json({ ports: await serialPorts() } satisfies v.InferOutput<typeof PortsSchema>);
    })
    .get("/", async (c) => {
      const { bytes, port: path, recipe, ...line } = query(c, LiveQuerySchema);
      const reader = await refused(async () => meterReader(recipe), "recipe");
      const feed = new Feed(bytes === "1", reader);
      const leave = await refused(() => listenTo({ path, ...line } satisfies LineSettings, feed), "port");
      const stopAsking = asking(reader.ask, path);
      return streamSSE(c, async (stream) => {
        stream.onAbort(() => feed.end());
        stopping?.addEventListener("abort", feed.end, { once: true });
        await feed.sendTo(stream).finally(() => {
          stopAsking();
          leave();
        });
        stopping?.removeEventListener("abort", feed.end);
      });
    })
    .post("/", async (c) => {
      const { port } = query(c, SendQuerySchema);
      const bytes = await bodyBytes(c, sentBytesAtMost);
      await refused(() => sendTo(port, bytes), "port");
      return c.body(null, 204);
    });
}

async function refused<Answer>(work: () => Promise<Answer>, field: string): Promise<Answer> {
  try {
    return await work();
  } catch (error) {
    const place = error instanceof Problem ? error.place : {};
    throw new Refusal(422, (error as Error).message, { field, ...place });
  }
}

/** Some meters only answer: they are asked as the recipe says. */
function asking(ask: { readonly bytes: Uint8Array; readonly everySeconds: number } | null, path: string): () => void {
  if (!ask) return () => {};
  const again = () => void sendTo(path, ask.bytes).catch(() => {});
  again();
  const timer = setInterval(again, ask.everySeconds * 1000);
  return () => clearInterval(timer);
}

interface Sent {
  readonly event?: string;
  readonly data: string;
}

/** What one client is to be sent, in order. */
class Feed implements LineListener {
  private readonly waiting: Sent[] = [{ event: "state", data: JSON.stringify({ state: "open" }) }];
  private wake: () => void = () => {};
  private ended = false;

  constructor(
    private readonly withBytes: boolean,
    private readonly reader: ReturnType<typeof meterReader>,
  ) {}

  bytes(bytes: Uint8Array, milliseconds: number): void {
    const seconds = milliseconds / 1000;
    if (this.withBytes) this.add("bytes", { seconds, base64: Buffer.from(bytes).toString("base64") });
    for (const reading of this.reader.read({ seconds, bytes })) this.add(undefined, reading);
  }

  state(state: LineState): void {
    this.add("state", { state });
  }

  private add(event: string | undefined, data: unknown): void {
    if (this.waiting.length >= waitingAtMost) this.ended = true;
    this.waiting.push({ ...(event ? { event } : {}), data: JSON.stringify(data) });
    this.wake();
  }

  readonly end = (): void => {
    this.ended = true;
    this.wake();
  };

  async sendTo(stream: SSEStreamingApi): Promise<void> {
    while (!this.ended && !stream.aborted) {
      for (let next = this.waiting.shift(); next && !this.ended; next = this.waiting.shift())
        await stream.writeSSE(next);
      if (this.ended) return;
      const news = await this.news();
      if (!news) await stream.write(": still here\n\n");
    }
  }

  /** @returns false where there was none for a while */
  private news(): Promise<boolean> {
    return new Promise((done) => {
      const quiet = setTimeout(() => done(false), heartbeatMilliseconds);
      this.wake = () => {
        clearTimeout(quiet);
        done(true);
      };
      if (this.waiting.length > 0 || this.ended) this.wake();
    });
  }
}
