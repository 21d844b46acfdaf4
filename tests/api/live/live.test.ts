/** GET /api/live on real terminals (socat): a meter's readings as they come, its link lost and found, several listeners. */

import { mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { type KeptApp, keptApp } from "../../fixtures/kept-app.ts";
import { PseudoTerminal, socatPath } from "../../fixtures/ports/pseudo-terminal.ts";
import { type RealServer, startServer } from "../../fixtures/real-server.ts";

interface Event {
  readonly event: string;
  readonly data: Record<string, unknown>;
}

/** What a client hears, event by event. */
class Ear {
  readonly events: Event[] = [];
  private constructor(
    private readonly stop: AbortController,
    readonly response: Response,
  ) {}

  static async at(address: string): Promise<Ear> {
    const stop = new AbortController();
    const ear = new Ear(stop, await fetch(address, { signal: stop.signal }));
    if (ear.response.ok) void ear.listen();
    return ear;
  }

  private async listen(): Promise<void> {
    let text = "";
    try {
      for await (const piece of this.response.body!) {
        text += new TextDecoder().decode(piece as Uint8Array);
        const blocks = text.split("\n\n");
        text = blocks.pop()!;
        for (const block of blocks) this.take(block);
      }
    } catch {
      // left
    }
  }

  private take(block: string): void {
    const data = /^data: (.*)$/m.exec(block)?.[1];
    if (data) this.events.push({ event: /^event: (.*)$/m.exec(block)?.[1] ?? "message", data: JSON.parse(data) });
  }

  readings(): Record<string, unknown>[] {
    return this.events.filter(({ event }) => event === "message").map(({ data }) => data);
  }

  leave(): void {
    this.stop.abort();
  }
}

describe.skipIf(!socatPath)("a meter on the server's serial port", () => {
  let server: RealServer;
  let meter: PseudoTerminal;
  const ears: Ear[] = [];
  beforeAll(async () => {
    server = await startServer({ DATA_DIR: mkdtempSync(join(tmpdir(), "live-")) });
  });
  afterAll(async () => {
    expect(await server.end()).toBe(0);
  });
  beforeEach(async () => {
    meter = await PseudoTerminal.plugged();
  });
  afterEach(async () => {
    for (const ear of ears.splice(0)) ear.leave();
    await meter.end();
  });

  const say = (words: string) => meter.write(Buffer.from(words));
  async function listen(more: Record<string, string> = {}): Promise<Ear> {
    const ear = await Ear.at(`${server.address}/api/live?${new URLSearchParams({ port: meter.port, ...more })}`);
    ears.push(ear);
    return ear;
  }

  it("gives readings of plain lines without being told how they are written", async () => {
    const ear = await listen();
    expect(ear.response.headers.get("content-type")).toMatch(/^text\/event-stream/);
    for (const value of ["12.47", "12.46", "11.79"]) say(`${value} V\r\n`);
    await expect.poll(() => ear.readings().length).toBe(3);
    expect(ear.readings().map(({ value, unit }) => [value, unit])).toEqual([
      [12.47, "V"],
      [12.46, "V"],
      [11.79, "V"],
    ]);
    expect(Math.abs(Number(ear.readings()[0]!.seconds) - Date.now() / 1000)).toBeLessThan(10);
  });

  it("tells a marine sentence from a line of text, and passes a wrong checksum over", async () => {
    const ear = await listen();
    // published sentences: reference/open-formats.md, section 2
    for (const sentence of ["$IIXDR,U,13.0,V,MAIN*5A", "$IIXDR,U,13.1,V,MAIN*5B"]) say(`${sentence}\r\n`);
    say("$IIXDR,U,19.9,V,MAIN*5A\r\n");
    say("$IIXDR,U,12.154,V,BatWiFi*16\r\n");
    await expect.poll(() => ear.readings().length).toBe(4);
    expect(ear.readings().map(({ value, damaged }) => value ?? damaged)).toEqual([13, 13.1, true, 12.154]);
  });

  it("asks a meter that only answers, with the recipe that is named", async () => {
    const ear = await listen({ recipe: "scpi-V" });
    await expect.poll(() => Buffer.from(meter.received).toString()).toContain("READ?\n");
    say("+1.24700000E+01\n");
    await expect.poll(() => ear.readings()).toMatchObject([{ value: 12.47, unit: "V" }]);
  });

  it("gives the bytes too, cut as they came, and sends what it is given", async () => {
    const ear = await listen({ bytes: "1" });
    say("\u0001\u0002");
    await expect
      .poll(() => ear.events.filter(({ event }) => event === "bytes"))
      .toMatchObject([{ data: { base64: "AQI=" } }]);
    const sent = await fetch(`${server.address}/api/live?${new URLSearchParams({ port: meter.port })}`, {
      method: "POST",
      body: "?",
    });
    expect(sent.status).toBe(204);
    await expect.poll(() => Buffer.from(meter.received).toString()).toBe("?");
  });

  it("serves several listeners from one port, each to its own end", async () => {
    const [first, second] = [await listen(), await listen()];
    say("1.0 V\n2.0 V\n");
    await expect.poll(() => [first.readings().length, second.readings().length]).toEqual([2, 2]);
    first.leave();
    await new Promise((next) => setTimeout(next, 100));
    say("3.0 V\n");
    await expect.poll(() => second.readings().length).toBe(3);
    expect(first.readings().length).toBe(2);
    const other = await listen({ baudRate: "4800" });
    expect(other.response.status).toBe(422);
    expect(((await other.response.json()) as { detail: string }).detail).toContain("9600 8N1");
  });

  it("says that the line is lost, and goes on when it is back", async () => {
    const ear = await listen();
    say("1.0 V\n2.0 V\n");
    await expect.poll(() => ear.readings().length).toBe(2);
    await meter.unplug();
    const states = () => ear.events.filter(({ event }) => event === "state").map(({ data }) => data.state);
    await expect.poll(states).toEqual(["open", "lost"]);
    await meter.plug();
    await expect.poll(states, { timeout: 10_000 }).toEqual(["open", "lost", "open"]);
    say("3.0 V\n");
    await expect.poll(() => ear.readings().length).toBe(3);
  });

  it("lets go of whoever listens when the server is told to stop", async () => {
    const other = await startServer({ DATA_DIR: mkdtempSync(join(tmpdir(), "live-")) });
    const ear = await Ear.at(`${other.address}/api/live?${new URLSearchParams({ port: meter.port })}`);
    expect(ear.response.ok).toBe(true);
    const began = Date.now();
    expect(await other.end()).toBe(0);
    expect(Date.now() - began).toBeLessThan(5_000);
  });
});

describe("the helper's word", () => {
  it("goes from the phone that measures to the helper's, the latest at once", async () => {
    const server = await startServer({ DATA_DIR: mkdtempSync(join(tmpdir(), "live-")) });
    const tell = (room: string, word: string) =>
      fetch(`${server.address}/api/live/key?room=${room}`, {
        method: "PUT",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ word }),
      });
    expect((await tell("room-1", "key")).status).toBe(204);
    const ear = await Ear.at(`${server.address}/api/live/key?room=room-1`);
    const words = () => ear.readings().map(({ word }) => word);
    await expect.poll(words).toEqual(["key"]);
    await tell("room-2", "wait");
    await tell("room-1", "release");
    await expect.poll(words).toEqual(["key", "release"]);
    expect((await tell("room-1", "shout")).status).toBe(422);
    expect((await fetch(`${server.address}/api/live/key?room=%2F`)).status).toBe(400);
    expect(await server.end()).toBe(0);
  });
});

describe("GET /api/live refuses in a sentence", () => {
  let app: KeptApp;
  beforeAll(async () => {
    app = await keptApp();
  });
  afterAll(() => app.end());

  const aFile = join(mkdtempSync(join(tmpdir(), "live-")), "no-port");
  writeFileSync(aFile, "secret");
  it.each([
    ["no port", "", 400, /^port: /],
    ["what is no path", "port=..%2Fsecret", 400, /serial port/],
    ["a port that is not there", "port=/dev/ttyNOTHERE9", 422, /not there: plug/],
    ["a file", `port=${encodeURIComponent(aFile)}`, 422, /not there/],
    ["a speed that is none", "port=/dev/ttyNOTHERE9&baudRate=fast", 400, /^baudRate: .*9600/],
    ["an unknown recipe", "port=/dev/ttyNOTHERE9&recipe=mine", 422, /text-lines/],
    [
      "a broken recipe",
      `port=/dev/ttyNOTHERE9&recipe=${encodeURIComponent('{"format":"recipe/2"}')}`,
      422,
      /recipe\/1/,
    ],
  ])("%s", async (_, search, status, words) => {
    const answer = await app.ask("GET", `/api/live?${search}`);
    expect(answer.status).toBe(status);
    expect(answer.headers.get("content-type")).toBe("application/problem+json");
    expect(((await answer.json()) as { detail: string }).detail).toMatch(words);
  });

  it("sending to a port that nobody reads", async () => {
    const answer = await app.ask("POST", "/api/live?port=/dev/ttyNOTHERE9", { body: "x" });
    expect(answer.status).toBe(422);
    expect(((await answer.json()) as { detail: string }).detail).toContain("is not being read");
  });

  it("lists the ports that the system has, none where it cannot say", async () => {
    const answer = await app.ask("GET", "/api/live/ports");
    expect(answer.status).toBe(200);
    expect(((await answer.json()) as { ports: unknown }).ports).toBeInstanceOf(Array);
  });
});
