/** The HTTP paths over the analysis and the store, and the built app. It never listens: tests call it, `server.ts` puts it on a port. */
import { serveStatic } from "@hono/node-server/serve-static";
import { Hono, type MiddlewareHandler } from "hono";
import { door, type Guard } from "./accounts/door.ts";
import { createMetrics } from "./metrics.ts";
import { methodsOf } from "./openapi/known-methods.ts";
import type { Paths } from "./openapi/operation.ts";
import { onError, problemResponse } from "./problem-response.ts";
import type { Env } from "./request.ts";
import { requestLog } from "./request-log.ts";
import { certificate, certificatePaths } from "./routes/certificate.ts";
import { changePaths, changes } from "./routes/changes.ts";
import { diagnoses, diagnosisPaths } from "./routes/diagnoses.ts";
import { health, healthPaths } from "./routes/health.ts";
import { jobPaths, jobs } from "./routes/jobs.ts";
import { keyWord, keyWordPaths } from "./routes/key-word.ts";
import { live, livePaths } from "./routes/live.ts";
import { logPaths, logs } from "./routes/logs.ts";
import { openapi } from "./routes/openapi.ts";
import { pairingPaths, pairings } from "./routes/pairings.ts";
import { session, sessionPaths } from "./routes/session.ts";
import { sameMachine } from "./same-machine.ts";
import { securityHeaders } from "./security-headers.ts";
import type { Services } from "./services.ts";
import { memoryCache } from "./worker-pool/diagnosis-cache.ts";
import { workerPool } from "./worker-pool/worker-pool.ts";

export const openPaths: Paths = {
  "/api/openapi.json": {
    get: { summary: "This description", answers: { 200: { words: "OpenAPI 3.1", media: "application/json" } } },
  },
  "/api/metrics": {
    get: {
      summary: "Counts for Prometheus",
      answers: { 200: { words: "Its text form", media: "text/plain; version=0.0.4" } },
    },
  },
  ...healthPaths,
  ...diagnosisPaths,
  ...livePaths,
  ...keyWordPaths,
};
export const keptPaths: Paths = {
  ...jobPaths,
  ...logPaths,
  ...changePaths,
  ...sessionPaths,
  ...pairingPaths,
  ...certificatePaths,
};

export interface AppOptions {
  /** folder of the built web app */
  readonly webRoot: string;
  /** names besides the loopback ones that this server is reached by */
  readonly allowedHosts?: readonly string[];
  /** left out: nothing is kept, and there are no paths for it */
  readonly services?: Services | null;
  /** who may ask; left out: anybody who can, as on loopback */
  readonly guard?: Guard;
  /** where other devices reach this server, the best first, as `https://192.168.1.5:8080/` */
  readonly reachedAt?: readonly string[];
  /** file of the shop's root certificate, for phones to install */
  readonly rootCertificate?: string | null;
  readonly logRequests?: boolean;
  /** aborted when the server is told to stop: answers that never end by themselves end then */
  readonly stopping?: AbortSignal;
}

export function createApp({
  webRoot,
  allowedHosts = [],
  services = null,
  guard = { kind: "open" },
  reachedAt = [],
  rootCertificate = null,
  logRequests = false,
  stopping,
}: AppOptions): Hono<Env> {
  const app = new Hono<Env>();
  const paths = services ? { ...openPaths, ...keptPaths } : openPaths;
  const pool = services?.pool ?? workerPool();
  const metrics = createMetrics(pool);
  app.use(requestLog(logRequests));
  app.use("/api/*", metrics.count);
  app.use(sameMachine(allowedHosts));
  app.use(securityHeaders());
  app.use("/api/*", plainBodies);
  app.use("/api/*", door(guard, services?.accounts ?? null));
  app.route("/api/health", health(services));
  app.route("/api/diagnoses", diagnoses(pool, memoryCache()));
  app.route("/api/live/key", keyWord(stopping));
  app.route("/api/live", live(stopping));
  if (services) {
    app.route("/api/jobs", jobs(services));
    app.route("/api/logs", logs(services));
    app.route("/api/changes", changes(services));
    app.route("/api/session", session(guard, services.accounts));
    app.route("/api/pairings", pairings(services.accounts, reachedAt));
    app.route("/api/certificate", certificate(rootCertificate));
  }
  app.get("/api/metrics", (c) => c.text(metrics.text(), 200, { "content-type": "text/plain; version=0.0.4" }));
  app.route("/api/openapi.json", openapi(paths));
  app.all("/api/*", (c) => {
    const methods = methodsOf(paths, c.req.path);
    if (methods === null) return problemResponse(404, `${c.req.path} is no path of this server.`);
    return problemResponse(
      405,
      `${c.req.path} has the methods ${methods}; got ${c.req.method}.`,
      {},
      { allow: methods },
    );
  });
  app.use("/assets/*", async (c, next) => {
    await next();
    if (c.res.ok) c.header("cache-control", "public, max-age=31536000, immutable");
  });
  app.use(async (c, next) => {
    await next();
    if (!c.res.headers.has("cache-control")) c.header("cache-control", "no-cache");
  });
  app.get("*", serveStatic({ root: webRoot, precompressed: false }));
  app.notFound((c) => problemResponse(404, `${c.req.path} is not part of the app.`));
  app.onError(onError);
  return app;
}

/**
 * A packed body could be a bomb, and no client of this server packs one: RFC 9110, 8.4.1 and 15.5.16.
 * A body that was refused may not have been read to its end: its connection is not used again (RFC 9112, 9.6).
 */
const plainBodies: MiddlewareHandler = async (c, next) => {
  const coding = c.req.header("content-encoding")?.trim().toLowerCase();
  if (coding !== undefined && coding !== "identity") {
    const words = `Content-Encoding should be left out: bodies are read as they are; got ${coding}.`;
    return problemResponse(415, words, { field: "content-encoding" }, { "accept-encoding": "identity" });
  }
  await next();
  if (c.res.status >= 400 && c.req.raw.body) c.header("connection", "close");
};
