/**
 * What the helper at the set is told, large on a phone of his own: key, release or wait. The phone that measures says it
 * here, the helper's hears it as server-sent events; both know the room by its code.
 */
import { Hono } from "hono";
import { streamSSE } from "hono/streaming";
import * as v from "valibot";
import type { Paths } from "../openapi/operation.ts";
import { type Env, jsonBody, query } from "../request.ts";

const RoomQuerySchema = v.object({
  room: v.pipe(v.string(), v.regex(/^[\w-]{4,40}$/, "a code of 4 to 40 letters and figures")),
});
export const KeyWordSchema = v.object({ word: v.picklist(["key", "release", "wait"]) });
type Word = v.InferOutput<typeof KeyWordSchema>["word"];

export const keyWordPaths: Paths = {
  "/api/live/key": {
    get: {
      summary: "What the helper at the set is told, as it changes; ends when the client leaves",
      query: RoomQuerySchema,
      answers: { 200: { words: "Server-sent events", media: "text/event-stream" } },
      problems: [400],
    },
    put: {
      summary: "Tells the helper at the set to key, to release or to wait",
      query: RoomQuerySchema,
      body: { "application/json": KeyWordSchema },
      answers: { 204: { words: "It is told" } },
      problems: [400, 415, 422],
    },
  },
};

interface Room {
  word: Word;
  readonly ears: Set<() => void>;
}

const roomsAtMost = 500;
const heartbeatMilliseconds = 15_000;

/** @param stopping aborted when the server is told to stop */
export function keyWord(stopping?: AbortSignal) {
  const rooms = new Map<string, Room>();
  const roomOf = (shop: string, code: string): Room => {
    const name = `${shop} ${code}`;
    const found = rooms.get(name) ?? { word: "wait" as const, ears: new Set<() => void>() };
    rooms.delete(name);
    rooms.set(name, found);
    for (const [other, { ears }] of rooms) if (rooms.size > roomsAtMost && ears.size === 0) rooms.delete(other);
    return found;
  };
  return new Hono<Env>()
    .get("/", (c) => {
      const room = roomOf(c.get("author").shop, query(c, RoomQuerySchema).room);
      return streamSSE(c, async (stream) => {
        let wake: () => void = () => {};
        const ear = () => wake();
        room.ears.add(ear);
        stream.onAbort(ear);
        stopping?.addEventListener("abort", ear, { once: true });
        while (!stream.aborted && !stopping?.aborted) {
          await stream.writeSSE({ data: JSON.stringify({ word: room.word }) });
          await new Promise<void>((next) => {
            const quiet = setTimeout(next, heartbeatMilliseconds);
            wake = () => {
              clearTimeout(quiet);
              next();
            };
          });
        }
        room.ears.delete(ear);
        stopping?.removeEventListener("abort", ear);
      });
    })
    .put("/", async (c) => {
      const room = roomOf(c.get("author").shop, query(c, RoomQuerySchema).room);
      room.word = (await jsonBody(c, KeyWordSchema)).word;
      for (const ear of room.ears) ear();
      return c.body(null, 204);
    });
}
