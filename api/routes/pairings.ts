/** /api/pairings: a device that is in lets another one in, by a code that works once and for minutes. */
import { Hono } from "hono";
import * as v from "valibot";
import type { AccountStore } from "../accounts/account-store.ts";
import { pairingAddress } from "../accounts/pairing-address.ts";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";
import { type Env, jsonBody } from "../request.ts";
import { guessed, startSession } from "./session.ts";

export const PairingSchema = v.object({
  code: v.string(),
  ends: v.string(),
  /** what the phone opens, code included; null: this server is reached from this machine alone */
  address: v.nullable(v.string()),
});
export const RedeemSchema = v.strictObject({ code: v.pipe(v.string(), v.minLength(1), v.maxLength(40)) });

export const pairingPaths: Paths = {
  "/api/pairings": {
    post: {
      summary: "A code that lets one more device in",
      answers: { 201: { words: "The code", media: "application/json", schema: PairingSchema } },
      problems: [401],
    },
  },
  "/api/pairings/redeem": {
    post: {
      summary: "Pairs this device; the session is a cookie that no script can read",
      body: { "application/json": RedeemSchema },
      answers: { 204: { words: "Paired", headers: ["Set-Cookie"] } },
      problems: [401, 422, 429],
    },
  },
};

/** @param addresses where other devices reach this server, the best first */
export function pairings(accounts: AccountStore, addresses: readonly string[]) {
  return new Hono<Env>()
    .post("/", async (c) => {
      const { code, endsMilliseconds } = await accounts.offerPairing(c.get("author"));
      const address = addresses[0] === undefined ? null : pairingAddress(addresses[0], code);
      const body = { code, ends: new Date(endsMilliseconds).toISOString(), address };
      return c.json(body satisfies v.InferOutput<typeof PairingSchema>, 201, { "cache-control": "no-store" });
    })
    .post("/redeem", async (c) => {
      const { code } = await jsonBody(c, RedeemSchema);
      const author = await guessed(c, accounts, "pairing", () => accounts.redeemPairing(code));
      if (!author)
        throw new Refusal(401, "The code is not right, was used, or is too old: show a new one.", { field: "code" });
      await startSession(c, accounts, author);
      return c.body(null, 204);
    });
}
