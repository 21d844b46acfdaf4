/**
 * The door: every request to the API passes it, and past it the routes know who asks. Open where only this machine can
 * ask; guarded where anybody else can, and then a server without a way to sign in refuses to start.
 */
import type { Context, MiddlewareHandler } from "hono";
import { getCookie } from "hono/cookie";
import type { Settings } from "../data-folder.ts";
import { problemResponse } from "../problem-response.ts";
import type { Env } from "../request.ts";
import { ownShop } from "../store/job-store.ts";
import type { AccountStore } from "./account-store.ts";
import { leastPasswordCharacters } from "./password.ts";

export type Guard = { readonly kind: "open" } | { readonly kind: "guarded"; readonly passphrase: string | null };

export const sessionCookie = "session";

/** What anybody may ask without being signed in. */
const openToAll = new Set([
  "GET /api/health",
  "GET /api/openapi.json",
  "GET /api/certificate",
  "GET /api/session",
  "POST /api/session",
  "POST /api/pairings/redeem",
]);

const loopback = /^(localhost|127(\.\d{1,3}){3}|::1|\[::1\])$/i;
export const isLoopback = (hostname: string): boolean => loopback.test(hostname);

/** @throws {Error} with a sentence, where anybody on the network could walk in */
export async function guardFor(settings: Settings, accounts: Pick<AccountStore, "count">): Promise<Guard> {
  const { HOST = "127.0.0.1", ALLOWED_HOSTS = "", PASSPHRASE: passphrase = "" } = settings;
  if (passphrase !== "" && passphrase.length < leastPasswordCharacters) {
    throw new Error(
      `PASSPHRASE should have at least ${leastPasswordCharacters} characters; it has ${passphrase.length}.`,
    );
  }
  if (passphrase !== "") return { kind: "guarded", passphrase };
  const strangers = [HOST, ...namesIn(ALLOWED_HOSTS)].filter((host) => !isLoopback(host));
  if (strangers.length === 0) return { kind: "open" };
  if ((await accounts.count()) > 0) return { kind: "guarded", passphrase: null };
  throw new Error(
    `At ${strangers.join(", ")} others on the network can reach this server: set PASSPHRASE, or add an account first (npm run account -- add NAME).`,
  );
}

export const namesIn = (list: string): string[] => list.split(/[\s,]+/).filter((name) => name !== "");

export function door(guard: Guard, accounts: AccountStore | null): MiddlewareHandler<Env> {
  return async (c, next) => {
    if (guard.kind === "open" || accounts === null) c.set("author", { shop: ownShop, account: null });
    else {
      const token = getCookie(c, sessionCookie);
      const session = token ? await accounts.session(token) : null;
      if (session) c.set("author", session);
      else if (!isOpenToAll(c)) return problemResponse(401, "Sign in first, or pair this device.", { field: "cookie" });
    }
    await next();
  };
}

function isOpenToAll(c: Context): boolean {
  const method = c.req.method === "HEAD" ? "GET" : c.req.method;
  return openToAll.has(`${method} ${c.req.path}`);
}
