/** Puts the app on a port: HOST and PORT, 127.0.0.1:8080 where they are not set. Stops cleanly on SIGTERM. */
import { resolve } from "node:path";
import { serve } from "@hono/node-server";
import { Problem } from "../analysis/index.ts";
import { createApp } from "./app.ts";
import { builtApp } from "./built-app.ts";
import { openServices, type Services } from "./services.ts";
import { workerCode } from "./worker-pool/worker-code.ts";

const hostname = process.env.HOST ?? "127.0.0.1";
const port = Number(process.env.PORT ?? 8080);

let services: Services;
try {
  services = await openServices(process.env);
} catch (error) {
  const reason = error instanceof Problem ? error.message : `${(error as Error).message}`;
  console.error(`The store cannot be opened: ${reason}.`);
  process.exit(1);
}
void workerCode();
const webRoot = await builtApp(resolve(import.meta.dirname, ".."));
const app = createApp({ webRoot, allowedHosts: [hostname], services, logRequests: process.env.LOG === "requests" });

const server = serve({ fetch: app.fetch, hostname, port }, (address) => {
  const host = address.address.includes(":") ? `[${address.address}]` : address.address;
  console.log(`Loopwalk is ready at http://${host}:${address.port}/`);
});

server.on("error", (error: NodeJS.ErrnoException) => {
  const reason =
    error.code === "EADDRINUSE" ? "something else listens there already; choose another PORT" : error.message;
  console.error(`Cannot listen at ${hostname}:${port}: ${reason}.`);
  process.exitCode = 1;
});

for (const signal of ["SIGTERM", "SIGINT"] as const) {
  process.once(signal, () => {
    server.close(() => void services.close().finally(() => process.exit(0)));
    if ("closeIdleConnections" in server) server.closeIdleConnections();
    setTimeout(() => process.exit(0), 5_000).unref();
  });
}
