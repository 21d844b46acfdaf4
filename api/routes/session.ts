/** /api/session: signing in with the shop's passphrase or an account, who is signed in, and signing out. */
import { getConnInfo } from "@hono/node-server/conninfo";
import { type Context, Hono } from "hono";
import { deleteCookie, getCookie, setCookie } from "hono/cookie";
import * as v from "valibot";
import { type AccountStore, sessionMilliseconds } from "../accounts/account-store.ts";
import { type Guard, sessionCookie } from "../accounts/door.ts";
import { isSame } from "../accounts/password.ts";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";
import { type Env, jsonBody } from "../request.ts";
import { type Author, ownShop } from "../store/job-store.ts";

export const SignInSchema = v.strictObject({
  /** left out: with the shop's passphrase */
  name: v.optional(v.pipe(v.string(), v.maxLength(100))),
  password: v.pipe(v.string(), v.minLength(1), v.maxLength(1000)),
});

export const SessionSchema = v.object({
  signedIn: v.boolean(),
  /** nobody needs to sign in: only this machine can ask */
  open: v.boolean(),
  /** whether there is a passphrase to sign in with */
  passphrase: v.boolean(),
});

export const sessionPaths: Paths = {
  "/api/session": {
    get: {
      summary: "Whether this device is signed in",
      answers: { 200: { words: "Whether it is", media: "application/json", schema: SessionSchema } },
    },
    post: {
      summary: "Signs in; the session is a cookie that no script can read",
      body: { "application/json": SignInSchema },
      answers: { 204: { words: "Signed in", headers: ["Set-Cookie"] } },
      problems: [401, 422, 429],
    },
    delete: { summary: "Signs out", answers: { 204: { words: "Signed out" } } },
  },
};

export function session(guard: Guard, accounts: AccountStore) {
  return new Hono<Env>()
    .get("/", (c) => {
      const open = guard.kind === "open";
      const passphrase = guard.kind === "guarded" && guard.passphrase !== null;
      c.header("cache-control", "no-store");
      return c.json({ signedIn: c.get("author") !== undefined, open, passphrase } satisfies v.InferOutput<
        typeof SessionSchema
      >);
    })
    .post("/", async (c) => {
      const { name, password } = await jsonBody(c, SignInSchema);
      const enter = () => (name === undefined ? enterByPassphrase(guard, password) : accounts.enter(name, password));
      const author = await guessed(c, accounts, name ?? "passphrase", enter);
      if (!author) throw new Refusal(401, "The name or the password is not right.", { field: "password" });
      await startSession(c, accounts, author);
      return c.body(null, 204);
    })
    .delete("/", async (c) => {
      const token = getCookie(c, sessionCookie);
      if (token) await accounts.endSession(token);
      deleteCookie(c, sessionCookie, { path: "/" });
      return c.body(null, 204);
    });
}

async function enterByPassphrase(guard: Guard, password: string): Promise<Author | null> {
  const right = guard.kind === "guarded" && guard.passphrase !== null && isSame(password, guard.passphrase);
  return right ? { shop: ownShop, account: null } : null;
}

/** One guess, slowed down for whoever guesses wrong again and again: by what is guessed at, and by where from. */
export async function guessed(
  c: Context,
  accounts: AccountStore,
  what: string,
  guess: () => Promise<Author | null>,
): Promise<Author | null> {
  const whos = [`what:${what.toLowerCase().slice(0, 100)}`, `from:${remoteAddress(c)}`];
  const wait = Math.max(...(await Promise.all(whos.map((who) => accounts.wait(who)))));
  if (wait > 0) {
    const seconds = String(Math.ceil(wait / 1000));
    throw new Refusal(429, `Too many wrong tries: try again in ${seconds} s.`, {}, { "retry-after": seconds });
  }
  const author = await guess();
  for (const who of whos) await (author ? accounts.guessedRight(who) : accounts.guessedWrong(who));
  return author;
}

function remoteAddress(c: Context): string {
  try {
    return getConnInfo(c).remote.address ?? "unknown";
  } catch {
    return "unknown";
  }
}

export async function startSession(c: Context, accounts: AccountStore, author: Author): Promise<void> {
  const token = await accounts.startSession(author, (c.req.header("user-agent") ?? "").slice(0, 120));
  setCookie(c, sessionCookie, token, {
    httpOnly: true,
    sameSite: "Strict",
    secure: new URL(c.req.url).protocol === "https:",
    path: "/",
    maxAge: sessionMilliseconds / 1000,
  });
}
