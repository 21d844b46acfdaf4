/** Accounts, the sessions that they and paired devices hold, pairing codes, and how often somebody guessed wrong. */
import { randomBytes, randomInt, randomUUID } from "node:crypto";
import { Problem } from "../../analysis/index.ts";
import type { Database } from "../store/database.ts";
import { type Author, ownShop } from "../store/job-store.ts";
import { hashOfSecret, hashPassword, isPassword, leastPasswordCharacters } from "./password.ts";

const day = 86_400_000;
/** Devices are out of reach for weeks; a session that is used lives on. */
export const sessionMilliseconds = 90 * day;
const pairingMilliseconds = 5 * 60_000;
/** Wrong guesses that cost nothing; each one after them doubles the wait, up to a minute. */
const freeGuesses = 5;
const longestWaitMilliseconds = 60_000;

export interface Session extends Author {
  readonly label: string;
}

export interface Pairing {
  readonly code: string;
  readonly endsMilliseconds: number;
}

export type AccountStore = ReturnType<typeof accountStore>;

export function accountStore({ db, write }: Database, now: () => number = Date.now) {
  return {
    /** @throws {Problem} where the name is taken or the password too short */
    async add(name: string, password: string, shop: string = ownShop): Promise<void> {
      if (!/^[\p{L}\p{N}][\p{L}\p{N}._@ -]{0,63}$/u.test(name)) {
        throw new Problem("should be 1 to 64 letters, digits, spaces and . _ @ -", { field: "name" });
      }
      if (password.length < leastPasswordCharacters) {
        const words = `should have at least ${leastPasswordCharacters} characters; got ${password.length}`;
        throw new Problem(words, { field: "password" });
      }
      const account = {
        id: randomUUID(),
        shop,
        name: plain(name),
        password: await hashPassword(password),
        made_ms: now(),
      };
      const { numInsertedOrUpdatedRows } = await write((change) =>
        change
          .insertInto("accounts")
          .values(account)
          .onConflict((conflict) => conflict.column("name").doNothing())
          .executeTakeFirstOrThrow(),
      );
      if (numInsertedOrUpdatedRows === 0n) {
        throw new Problem("should be a name that nobody has yet; this one is taken", { field: "name" });
      }
    },

    async count(): Promise<number> {
      const { n } = await db
        .selectFrom("accounts")
        .select((row) => row.fn.countAll<number>().as("n"))
        .executeTakeFirstOrThrow();
      return Number(n);
    },

    /** The account of a name, once its password is right. */
    async enter(name: string, password: string): Promise<Author | null> {
      const account = await db.selectFrom("accounts").selectAll().where("name", "=", plain(name)).executeTakeFirst();
      const right = await isPassword(password, account?.password ?? null);
      return account && right ? { shop: account.shop, account: account.id } : null;
    },

    /** @returns the token that the device shows from now on; only its hash is kept */
    async startSession({ shop, account }: Author, label: string): Promise<string> {
      const token = randomBytes(32).toString("base64url");
      const ends_ms = now() + sessionMilliseconds;
      await write(async (change) => {
        await change.deleteFrom("sessions").where("ends_ms", "<", now()).execute();
        const row = { token_hash: hashOfSecret(token), shop, account, label, made_ms: now(), ends_ms };
        await change.insertInto("sessions").values(row).execute();
      });
      return token;
    },

    async session(token: string): Promise<Session | null> {
      const token_hash = hashOfSecret(token);
      const row = await db.selectFrom("sessions").selectAll().where("token_hash", "=", token_hash).executeTakeFirst();
      if (!row || row.ends_ms < now()) return null;
      if (row.ends_ms < now() + sessionMilliseconds - day) {
        const ends_ms = now() + sessionMilliseconds;
        await write((change) =>
          change.updateTable("sessions").set({ ends_ms }).where("token_hash", "=", token_hash).execute(),
        );
      }
      return { shop: row.shop, account: row.account, label: row.label };
    },

    async endSession(token: string): Promise<void> {
      await write((change) => change.deleteFrom("sessions").where("token_hash", "=", hashOfSecret(token)).execute());
    },

    /** A code that lets one more device in, once, within minutes. */
    async offerPairing({ shop, account }: Author): Promise<Pairing> {
      const code = pairingCode();
      const ends_ms = now() + pairingMilliseconds;
      await write(async (change) => {
        await change.deleteFrom("pairings").where("ends_ms", "<", now()).execute();
        await change
          .insertInto("pairings")
          .values({ code_hash: hashOfSecret(code), shop, account, ends_ms })
          .execute();
      });
      return { code, endsMilliseconds: ends_ms };
    },

    async redeemPairing(code: string): Promise<Author | null> {
      const code_hash = hashOfSecret(code.toUpperCase().replaceAll(/[^0-9A-Z]/g, ""));
      const row = await write((change) =>
        change.deleteFrom("pairings").where("code_hash", "=", code_hash).returningAll().executeTakeFirst(),
      );
      return row && row.ends_ms >= now() ? { shop: row.shop, account: row.account } : null;
    },

    /** Milliseconds that `who` has to wait before the next guess; 0: none. */
    async wait(who: string): Promise<number> {
      const row = await db.selectFrom("sign_in_failures").selectAll().where("who", "=", who).executeTakeFirst();
      return Math.max(0, (row?.blocked_until_ms ?? 0) - now());
    },

    async guessedWrong(who: string): Promise<void> {
      await write(async (change) => {
        await change
          .deleteFrom("sign_in_failures")
          .where("blocked_until_ms", "<", now() - day)
          .execute();
        const { failures } = await change
          .insertInto("sign_in_failures")
          .values({ who, failures: 1, blocked_until_ms: now() })
          .onConflict((conflict) =>
            conflict.column("who").doUpdateSet((row) => ({ failures: row("sign_in_failures.failures", "+", 1) })),
          )
          .returning("failures")
          .executeTakeFirstOrThrow();
        const wait =
          failures < freeGuesses ? 0 : Math.min(1000 * 2 ** (failures - freeGuesses), longestWaitMilliseconds);
        const blocked_until_ms = now() + wait;
        await change.updateTable("sign_in_failures").set({ blocked_until_ms }).where("who", "=", who).execute();
      });
    },

    async guessedRight(who: string): Promise<void> {
      await write((change) => change.deleteFrom("sign_in_failures").where("who", "=", who).execute());
    },
  };
}

const plain = (name: string): string => name.normalize("NFC").trim().toLowerCase();

/** Ten signs that nobody mistakes for others when read aloud: 47 bits, for five minutes. */
const codeSigns = "23456789ACDEFGHJKMNPQRSTUVWXYZ".slice(0, 30);

const pairingCode = (): string => Array.from({ length: 10 }, () => codeSigns[randomInt(codeSigns.length)]).join("");
