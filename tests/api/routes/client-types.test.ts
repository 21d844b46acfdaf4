/** What the web app takes an answer to be is what the routes say they give: the two never import each other, so it is held here. */

import type * as v from "valibot";
import { expect, expectTypeOf, it } from "vitest";
import type { ChangesSchema } from "../../../api/routes/changes.ts";
import type { PairingSchema } from "../../../api/routes/pairings.ts";
import type { SessionSchema } from "../../../api/routes/session.ts";
import type { CurrentRevision, Sibling } from "../../../api/store/job-store.ts";
import { type Changes, type Current, syncServer } from "../../../web/storage/sync/sync-server.ts";

it("agrees on changes, revisions, sessions and pairings", () => {
  expectTypeOf<v.InferOutput<typeof ChangesSchema>>().toExtend<Changes>();
  expectTypeOf<CurrentRevision>().toEqualTypeOf<Current>();
  expectTypeOf<v.InferOutput<typeof SessionSchema>>().toEqualTypeOf<{
    signedIn: boolean;
    open: boolean;
    passphrase: boolean;
  }>();
  expectTypeOf<v.InferOutput<typeof PairingSchema>>().toExtend<{ code: string; address: string | null }>();
});

it("reads a lost race as the server writes it", async () => {
  const problem: { current: CurrentRevision; sibling: Sibling } = {
    current: { revision: 9, deleted: false },
    sibling: { revision: 8, inLine: true },
  };
  const server = syncServer(async () => new Response(JSON.stringify(problem), { status: 412 }));
  expect(await server.put("id", "{}", 7)).toEqual({ kind: "lost", current: problem.current, inLine: 8 });
});
