/**
 * Diagnoses made before, by the hash of all that went in and the program's version: the last ones in memory,
 * those of kept jobs in the database too, where every server finds them.
 */
import { createHash } from "node:crypto";
import type { Database } from "../store/database.ts";
import { workerCode } from "./worker-code.ts";

export interface DiagnosisCache {
  find(key: string): Promise<string | null>;
  keep(key: string, diagnosis: string): Promise<void>;
}

const memoryCharactersAtMost = 32 * 2 ** 20;
const keptDays = 90;

/** @param parts everything that the diagnosis depends on, in a fixed order */
export async function cacheKey(parts: readonly (string | Uint8Array)[]): Promise<string> {
  const hash = createHash("sha256").update((await workerCode()).version);
  for (const part of parts) hash.update(`\n${part.length}\n`).update(part);
  return hash.digest("hex");
}

export function memoryCache(charactersAtMost = memoryCharactersAtMost): DiagnosisCache {
  const kept = new Map<string, string>();
  let characters = 0;
  return {
    async find(key) {
      const found = kept.get(key);
      if (found === undefined) return null;
      kept.delete(key);
      kept.set(key, found);
      return found;
    },
    async keep(key, diagnosis) {
      if (kept.has(key) || diagnosis.length > charactersAtMost / 4) return;
      kept.set(key, diagnosis);
      characters += diagnosis.length;
      for (const [oldest, text] of kept) {
        if (characters <= charactersAtMost) break;
        kept.delete(oldest);
        characters -= text.length;
      }
    },
  };
}

export function storedCache(
  { db, write }: Database,
  memory = memoryCache(),
  now: () => number = Date.now,
): DiagnosisCache {
  return {
    async find(key) {
      const near = await memory.find(key);
      if (near !== null) return near;
      const row = await db.selectFrom("diagnoses").select("document").where("key", "=", key).executeTakeFirst();
      return row?.document ?? null;
    },
    async keep(key, diagnosis) {
      await memory.keep(key, diagnosis);
      await write(async (change) => {
        const row = { key, document: diagnosis, made_ms: now() };
        await change
          .insertInto("diagnoses")
          .values(row)
          .onConflict((conflict) => conflict.doNothing())
          .execute();
        const tooOld = now() - keptDays * 86_400_000;
        await change.deleteFrom("diagnoses").where("made_ms", "<", tooOld).execute();
      });
    },
  };
}
