/**
 * Serving: opens what is kept, listens, says where, and on SIGTERM or SIGINT finishes what it accepted before it ends.
 * A database that does not answer yet is waited for; meanwhile the server says 503 and why.
 */
import type { Server } from "node:http";
import type { AddressInfo } from "node:net";
import { resolve } from "node:path";
import { setTimeout } from "node:timers/promises";
import { serve } from "@hono/node-server";
import { Problem } from "../analysis/index.ts";
import { createApp } from "./app.ts";
import { builtApp } from "./built-app.ts";
import { problemResponse } from "./problem-response.ts";
import { logLine } from "./request-log.ts";
import { openServices, type Services, type Settings } from "./services.ts";
import { storeTrouble } from "./store/store-trouble.ts";
import { workerCode } from "./worker-pool/worker-code.ts";

type Fetch = (request: Request, env?: unknown) => Response | Promise<Response>;

const retryMilliseconds = 1_000;
/** After this long a diagnosis that still runs is given up when the server is told to stop. */
const graceMilliseconds = 30_000;

/** @returns the exit status, once the server has ended */
export async function serveApp(settings: Settings): Promise<number> {
  const hostname = settings.HOST ?? "127.0.0.1";
  const port = Number(settings.PORT ?? 8080);
  const stopping = stopSignal();
  try {
    const webRoot = settings.WEB_ROOT ?? (await builtApp(resolve(import.meta.dirname, "..")));
    void workerCode();
    const served: { fetch: Fetch } = { fetch: notYet("it is being opened") };
    let server: Server | null = null;
    const open = async () => {
      server ??= await listen((request, env) => served.fetch(request, env), hostname, port);
      return server;
    };
    const services = await openedPatiently(settings, stopping, async (reason) => {
      served.fetch = notYet(reason);
      await open();
    });
    if (services === null) {
      await open().then((waiting) => ended(waiting, stopping));
      return 0;
    }
    const logRequests = settings.LOG === "requests";
    const app = createApp({ webRoot, allowedHosts: [hostname], services, logRequests, stopping });
    served.fetch = app.fetch as Fetch;
    const listening = await open();
    console.log(`Loopwalk is ready at ${addressOf(listening)}`);
    await ended(listening, stopping);
    await services.close();
    return 0;
  } catch (error) {
    console.error(error instanceof Error ? error.message : String(error));
    return 1;
  }
}

/** The first signal asks to stop; the second ends at once. */
function stopSignal(): AbortSignal {
  const stopping = new AbortController();
  for (const signal of ["SIGTERM", "SIGINT"] as const) {
    process.on(signal, () => {
      if (stopping.signal.aborted) process.exit(1);
      stopping.abort();
    });
  }
  return stopping.signal;
}

/** @returns null where the server was stopped before the store answered */
async function openedPatiently(
  settings: Settings,
  stopping: AbortSignal,
  onAway: (reason: string) => Promise<void>,
): Promise<Services | null> {
  while (!stopping.aborted) {
    try {
      return await openServices(settings);
    } catch (error) {
      if (error instanceof Problem || storeTrouble(error) !== "away") throw notOpened(error);
      const reason = (error as Error).message || String((error as { code?: unknown }).code);
      logLine("error", "the store does not answer", { reason });
      await onAway(reason);
      await setTimeout(retryMilliseconds, undefined, { signal: stopping }).catch(() => {});
    }
  }
  return null;
}

const notOpened = (error: unknown) => new Error(`The store cannot be opened: ${(error as Error).message}.`);

const notYet =
  (reason: string): Fetch =>
  () =>
    problemResponse(503, `The store does not answer: ${reason}.`, {}, { "retry-after": "5" });

function listen(fetch: Fetch, hostname: string, port: number): Promise<Server> {
  return new Promise((done, failed) => {
    const server = serve({ fetch, hostname, port }, () => done(server)) as Server;
    server.once("error", (error: NodeJS.ErrnoException) => {
      const taken = error.code === "EADDRINUSE";
      const reason = taken ? "something else listens there already; choose another PORT" : error.message;
      failed(new Error(`Cannot listen at ${hostname}:${port}: ${reason}.`));
    });
  });
}

function addressOf(server: Server): string {
  const { address, port } = server.address() as AddressInfo;
  return `http://${address.includes(":") ? `[${address}]` : address}:${port}/`;
}

/** Once told to stop: no new connections, what was accepted is answered, and the last connection closes. */
function ended(server: Server, stopping: AbortSignal): Promise<void> {
  return new Promise((done) => {
    const stop = () => {
      // connections that finish their answer later are idle then
      const sweep = setInterval(() => server.closeIdleConnections(), 50);
      const patience = globalThis.setTimeout(() => server.closeAllConnections(), graceMilliseconds);
      server.close(() => {
        clearInterval(sweep);
        clearTimeout(patience);
        done();
      });
      server.closeIdleConnections();
    };
    if (stopping.aborted) stop();
    else stopping.addEventListener("abort", stop, { once: true });
  });
}
