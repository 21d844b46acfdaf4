/** Which shop keeps which logs. The bytes are elsewhere, under their hash; a shop sees only what it sent itself. */
import type { Database } from "./database.ts";

export type LogRecords = ReturnType<typeof logRecords>;

export function logRecords({ db, write }: Database, now: () => number = Date.now) {
  return {
    /** after the bytes are safe */
    record(shop: string, sha256: string, bytes: number): Promise<void> {
      return write(async (change) => {
        await change
          .insertInto("logs")
          .values({ shop, sha256, bytes, kept_ms: now() })
          .onConflict((conflict) => conflict.doNothing())
          .execute();
      });
    },

    /** bytes of a log that the shop keeps, or null */
    async bytes(shop: string, sha256: string): Promise<number | null> {
      const row = await db
        .selectFrom("logs")
        .select("bytes")
        .where("shop", "=", shop)
        .where("sha256", "=", sha256)
        .executeTakeFirst();
      return row?.bytes ?? null;
    },
  };
}
