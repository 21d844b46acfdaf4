/**
 * Serving: opens what is kept, listens, says where, and on SIGTERM or SIGINT finishes what it accepted before it ends.
 * A database that does not answer yet is waited for; meanwhile the server says 503 and why.
 */
import { readFileSync } from "node:fs";
import type { Server } from "node:http";
import { createServer as createHttpsServer } from "node:https";
import type { AddressInfo } from "node:net";
import { resolve } from "node:path";
import { setTimeout } from "node:timers/promises";
import { serve } from "@hono/node-server";
import { Problem } from "../analysis/index.ts";
import { guardFor } from "./accounts/door.ts";
import { pairingAddress, terminalQr } from "./accounts/pairing-address.ts";
import { createApp } from "./app.ts";
import { builtApp } from "./built-app.ts";
import { isHalfRestored } from "./commands/restore.ts";
import type { Settings } from "./data-folder.ts";
import { problemResponse } from "./problem-response.ts";
import { logLine } from "./request-log.ts";
import { openServices, type Services } from "./services.ts";
import { type Site, siteOf } from "./site.ts";
import { ownShop } from "./store/job-store.ts";
import { storeTrouble } from "./store/store-trouble.ts";
import { workerCode } from "./worker-pool/worker-code.ts";

type Fetch = (request: Request, env?: unknown) => Response | Promise<Response>;

const retryMilliseconds = 1_000;
/** After this long a diagnosis that still runs is given up when the server is told to stop. */
const graceMilliseconds = 30_000;

/** @returns the exit status, once the server has ended */
export async function serveApp(settings: Settings): Promise<number> {
  const stopping = stopSignal();
  try {
    const site = siteOf(settings);
    const webRoot = settings.WEB_ROOT ?? (await builtApp(resolve(import.meta.dirname, "..")));
    void workerCode();
    const served: { fetch: Fetch } = { fetch: notYet("it is being opened") };
    let server: Server | null = null;
    const open = async () => {
      server ??= await listen((request, env) => served.fetch(request, env), site);
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
    if (await isHalfRestored(services)) {
      throw new Error("The store is half restored: run restore with the same backup again, then start.");
    }
    const guard = await guardFor(settings, services.accounts);
    const logRequests = settings.LOG === "requests";
    const rootCertificate = site.tls?.rootCertificate ?? null;
    const { allowedHosts, reachedAt } = site;
    const seen = { allowedHosts, reachedAt, rootCertificate, logRequests, stopping };
    served.fetch = createApp({ webRoot, services, guard, ...seen }).fetch as Fetch;
    const listening = await open();
    console.log(`Loopwalk is ready at ${addressOf(listening, site)}`);
    if (guard.kind === "guarded" && guard.passphrase !== null) await showPairing(services, site);
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

function listen(fetch: Fetch, { hostname, port, tls }: Site): Promise<Server> {
  return new Promise((done, failed) => {
    const secure = tls && {
      createServer: createHttpsServer,
      serverOptions: { cert: readFileSync(tls.serverCertificate), key: readFileSync(tls.serverKey) },
    };
    const server = serve({ fetch, hostname, port, ...secure }, () => done(server)) as Server;
    server.once("error", (error: NodeJS.ErrnoException) => {
      const taken = error.code === "EADDRINUSE";
      const reason = taken ? "something else listens there already; choose another PORT" : error.message;
      failed(new Error(`Cannot listen at ${hostname}:${port}: ${reason}.`));
    });
  });
}

function addressOf(server: Server, { tls, reachedAt }: Site): string {
  const { address, port } = server.address() as AddressInfo;
  const everywhere = address === "0.0.0.0" || address === "::";
  if (everywhere && reachedAt[0]) return reachedAt[0];
  return `${tls ? "https" : "http"}://${address.includes(":") ? `[${address}]` : address}:${port}/`;
}

/** A phone beside the laptop is let in by pointing its camera at the terminal. */
async function showPairing({ accounts }: Services, { reachedAt }: Site): Promise<void> {
  const [address] = reachedAt;
  if (address === undefined || !process.stdout.isTTY) return;
  const { code } = await accounts.offerPairing({ shop: ownShop, account: null });
  const target = pairingAddress(address, code);
  console.log(`\n${terminalQr(target)}\nFor five minutes, and for one phone: ${target}`);
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
