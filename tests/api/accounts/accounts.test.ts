/** Who may do what: sign-in, sessions, pairing, rate limits, shops that do not see each other, and when a server refuses to start. */
import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { accountStore } from "../../../api/accounts/account-store.ts";
import { guardFor } from "../../../api/accounts/door.ts";
import { terminalQr } from "../../../api/accounts/pairing-address.ts";
import { hashPassword, isPassword } from "../../../api/accounts/password.ts";
import { quickDatabases, type TestDatabase } from "../../fixtures/databases.ts";
import { creating, json, type KeptApp, keptApp, sha256Of, smallJob } from "../../fixtures/kept-app.ts";

const passphrase = "correct horse battery";

describe("a guarded server", () => {
  let app: KeptApp;
  beforeAll(async () => {
    app = await keptApp({
      guard: { kind: "guarded", passphrase },
      allowedHosts: ["shop.lan"],
      reachedAt: ["https://shop.lan:8080/"],
    });
    await app.services.accounts.add("Ana", "a long password", "north");
    await app.services.accounts.add("Ben", "another password", "south");
  });
  afterAll(() => app.end());

  const signIn = (body: Record<string, unknown>) =>
    app.ask("POST", "/api/session", { body: JSON.stringify(body), headers: json });
  async function cookieOf(body: Record<string, unknown>): Promise<{ cookie: string }> {
    const response = await signIn(body);
    expect(response.status).toBe(204);
    return { cookie: response.headers.get("set-cookie")!.split(";")[0]! };
  }

  it("lets nobody near anything kept without a session", async () => {
    const id = randomUUID();
    const asked: [string, string][] = [
      ["GET", "/api/jobs"],
      ["GET", `/api/jobs/${id}`],
      ["PUT", `/api/jobs/${id}`],
      ["DELETE", `/api/jobs/${id}`],
      ["GET", `/api/jobs/${id}/folder`],
      ["GET", "/api/changes"],
      ["PUT", `/api/logs/${sha256Of("")}`],
      ["GET", `/api/logs/${sha256Of("")}`],
      ["POST", "/api/diagnoses"],
      ["POST", "/api/pairings"],
      ["GET", "/api/metrics"],
      ["DELETE", "/api/session"],
      ["GET", "/api/live"],
    ];
    for (const [method, path] of asked) {
      for (const headers of [{}, { cookie: "session=guess" }] as Record<string, string>[]) {
        const response = await app.ask(method, path, { headers });
        expect([path, response.status]).toEqual([path, 401]);
      }
    }
    for (const path of ["/api/health", "/api/openapi.json", "/api/session"]) {
      expect((await app.ask("GET", path)).status).toBe(200);
    }
  });

  it("gives a session in a cookie that no script reads and no other site sends", async () => {
    const response = await signIn({ password: passphrase });
    expect(response.headers.get("set-cookie")).toMatch(
      /^session=[\w-]{43}; Max-Age=\d+; Path=\/; HttpOnly; SameSite=Strict$/,
    );
    const headers = { cookie: response.headers.get("set-cookie")!.split(";")[0]! };
    expect((await app.ask("GET", "/api/jobs", { headers })).status).toBe(200);
    expect(await (await app.ask("GET", "/api/session", { headers })).json()).toMatchObject({
      signedIn: true,
      open: false,
    });
    const evil = { ...headers, ...creating, origin: "https://evil.example" };
    expect((await app.ask("PUT", `/api/jobs/${randomUUID()}`, { body: smallJob("x"), headers: evil })).status).toBe(
      403,
    );
    expect((await app.ask("DELETE", "/api/session", { headers })).status).toBe(204);
    expect((await app.ask("GET", "/api/jobs", { headers })).status).toBe(401);
  });

  it("shows each shop its own jobs and logs only", async () => {
    const [ana, ben] = [
      await cookieOf({ name: "ana", password: "a long password" }),
      await cookieOf({ name: "BEN ", password: "another password" }),
    ];
    const id = randomUUID();
    const log = "0,12.6";
    expect(
      (await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob("north's"), headers: { ...creating, ...ana } })).status,
    ).toBe(201);
    await app.ask("PUT", `/api/logs/${sha256Of(log)}`, { body: log, headers: ana });
    const statuses = async (headers: { cookie: string }) => [
      (await app.ask("GET", `/api/jobs/${id}`, { headers })).status,
      (await app.ask("GET", `/api/logs/${sha256Of(log)}`, { headers })).status,
      ((await (await app.ask("GET", "/api/changes", { headers })).json()) as { changes: unknown[] }).changes.length,
      ((await (await app.ask("GET", "/api/jobs?q=north", { headers })).json()) as { jobs: unknown[] }).jobs.length,
    ];
    expect(await statuses(ana)).toEqual([200, 200, 1, 1]);
    expect(await statuses(ben)).toEqual([404, 404, 0, 0]);
    expect(
      (await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob("south's"), headers: { ...creating, ...ben } })).status,
    ).toBe(201);
    expect(await (await app.ask("GET", `/api/jobs/${id}`, { headers: ana })).text()).toBe(smallJob("north's"));
  });

  it("pairs one device by a code that works once", async () => {
    const headers = await cookieOf({ name: "ana", password: "a long password" });
    const offered = (await (await app.ask("POST", "/api/pairings", { headers })).json()) as {
      code: string;
      address: string;
    };
    expect(offered.address).toBe(`https://shop.lan:8080/#/pair/${offered.code}`);
    const redeem = (code: string) =>
      app.ask("POST", "/api/pairings/redeem", { body: JSON.stringify({ code }), headers: json });
    const paired = await redeem(` ${offered.code.toLowerCase().slice(0, 5)}-${offered.code.toLowerCase().slice(5)}`);
    expect(paired.status).toBe(204);
    const phone = { cookie: paired.headers.get("set-cookie")!.split(";")[0]! };
    expect(
      ((await (await app.ask("GET", "/api/jobs", { headers: phone })).json()) as { jobs: unknown[] }).jobs,
    ).toHaveLength(1);
    expect((await redeem(offered.code)).status).toBe(401);
    expect((await redeem("2345678923")).status).toBe(401);
  });

  it("slows down who guesses, and says for how long", async () => {
    let slowed = await signIn({ name: "ben", password: "guess" });
    for (let n = 0; n < 6 && slowed.status === 401; n++) slowed = await signIn({ name: "ben", password: `guess ${n}` });
    expect(slowed.status).toBe(429);
    expect(Number(slowed.headers.get("retry-after"))).toBeGreaterThanOrEqual(1);
  });

  it("refuses a sign-in that makes no sense, naming the field", async () => {
    expect(await (await signIn({ password: 12 })).json()).toMatchObject({ status: 422, field: "password" });
    expect(await (await signIn({ password: "x", admin: true })).json()).toMatchObject({ status: 422, field: "admin" });
  });
});

describe.each(quickDatabases)("accounts on $name", ({ open }) => {
  let opened: TestDatabase;
  beforeAll(async () => {
    opened = await open();
  });
  afterAll(() => opened.end());

  it("end sessions and codes when their time is over, and let wait who guesses wrong", async () => {
    let now = 1_000_000;
    const accounts = accountStore(opened.database, () => now);
    const author = { shop: "s", account: null };
    const token = await accounts.startSession(author, "phone");
    const { code } = await accounts.offerPairing(author);
    now += 6 * 60_000;
    expect(await accounts.redeemPairing(code)).toBeNull();
    now += 60 * 86_400_000;
    expect(await accounts.session(token)).toMatchObject(author);
    now += 60 * 86_400_000;
    expect(await accounts.session(token), "used in between: it lives on").toMatchObject(author);
    now += 91 * 86_400_000;
    expect(await accounts.session(token)).toBeNull();
    const waits: number[] = [];
    for (let n = 0; n < 12; n++) {
      await accounts.guessedWrong("x");
      waits.push(await accounts.wait("x"));
    }
    expect(waits).toEqual([0, 0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60].map((seconds) => seconds * 1000));
    await accounts.guessedRight("x");
    expect(await accounts.wait("x")).toBe(0);
  });

  it("take each name once and no short password", async () => {
    const accounts = accountStore(opened.database);
    await accounts.add("Eva", "long enough indeed");
    await expect(accounts.add("EVA", "long enough indeed")).rejects.toThrow(
      /name: should be a name that nobody has yet/,
    );
    await expect(accounts.add("Bo", "short")).rejects.toThrow(/password: should have at least 10 characters; got 5/);
    expect(await accounts.count()).toBe(1);
    expect(await accounts.enter("eva", "long enough indeed")).toMatchObject({ shop: "own" });
    expect(await accounts.enter("eva", "long enough")).toBeNull();
    expect(await accounts.enter("nobody", "long enough indeed")).toBeNull();
  });
});

describe("the door", () => {
  const none = { count: async () => 0 };
  it("is open on loopback, guarded elsewhere, and refuses to stand open to a network", async () => {
    expect(await guardFor({}, none)).toEqual({ kind: "open" });
    expect(await guardFor({ HOST: "::1" }, none)).toEqual({ kind: "open" });
    expect(await guardFor({ HOST: "0.0.0.0", PASSPHRASE: passphrase }, none)).toEqual({ kind: "guarded", passphrase });
    expect(await guardFor({ HOST: "0.0.0.0" }, { count: async () => 1 })).toEqual({
      kind: "guarded",
      passphrase: null,
    });
    await expect(guardFor({ HOST: "0.0.0.0" }, none)).rejects.toThrow(/set PASSPHRASE, or add an account/);
    await expect(guardFor({ ALLOWED_HOSTS: "shop.lan" }, none)).rejects.toThrow(/At shop.lan others/);
    await expect(guardFor({ HOST: "192.168.1.5", PASSPHRASE: "short" }, none)).rejects.toThrow(
      /at least 10 characters; it has 5/,
    );
  });

  it("keeps passwords as salted scrypt hashes", async () => {
    const [one, two] = [await hashPassword("the same"), await hashPassword("the same")];
    expect(one).toMatch(/^scrypt\$32768\$8\$3\$/);
    expect(one).not.toBe(two);
    expect([await isPassword("the same", one), await isPassword("The same", one), await isPassword("x", null)]).toEqual(
      [true, false, false],
    );
  });

  it("draws a QR code of whole lines with a quiet zone", () => {
    const lines = terminalQr("https://shop.lan:8080/#/pair/ABCDEFGHJK").split("\n");
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the terminal's own colour codes
    const plain = lines.map((line) => line.replaceAll(/\x1b\[[\d;]*m/g, ""));
    expect(new Set(plain.map((line) => line.length)).size).toBe(1);
    expect(plain[0]).toMatch(/^█+$/);
  });
});
