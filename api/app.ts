/** The HTTP paths over the analysis, and the built app. It never listens: tests call it, `server.ts` puts it on a port. */
import { serveStatic } from "@hono/node-server/serve-static";
import { Hono } from "hono";
import { onError, problemResponse } from "./problem-response.ts";
import { diagnoses } from "./routes/diagnoses.ts";
import { health } from "./routes/health.ts";
import { sameMachine } from "./same-machine.ts";
import { securityHeaders } from "./security-headers.ts";

export interface AppOptions {
  /** folder of the built web app */
  readonly webRoot: string;
  /** names besides the loopback ones that this server is reached by */
  readonly allowedHosts?: readonly string[];
}

export function createApp({ webRoot, allowedHosts = [] }: AppOptions): Hono {
  const app = new Hono();
  app.use(sameMachine(allowedHosts));
  app.use(securityHeaders());
  app.route("/api/health", health);
  app.route("/api/diagnoses", diagnoses);
  app.all("/api/*", (c) => problemResponse(404, `${c.req.method} ${c.req.path} is no path of this server.`));
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
