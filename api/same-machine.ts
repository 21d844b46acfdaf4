/**
 * Keeps strangers' pages away from a server that listens on this machine alone: a page on the web can make the
 * browser send requests here, under its own Origin or, by rebinding a name, under its own Host.
 */
import type { MiddlewareHandler } from "hono";
import { problemResponse } from "./problem-response.ts";

const loopbackHosts = new Set(["localhost", "127.0.0.1", "[::1]"]);

/** @param allowedHosts further names that this server is reached by, as `workshop.lan` */
export function sameMachine(allowedHosts: readonly string[] = []): MiddlewareHandler {
  const allowed = new Set([...loopbackHosts, ...allowedHosts.map((host) => host.toLowerCase())]);
  return async (c, next) => {
    const host = hostName(`http://${c.req.header("host") ?? new URL(c.req.url).host}`);
    if (host === null || !allowed.has(host)) {
      return problemResponse(403, `Host should be one of ${[...allowed].join(", ")}; got ${host ?? "none"}.`);
    }
    const origin = c.req.header("origin");
    if (origin !== undefined && !allowed.has(hostName(origin) ?? "")) {
      return problemResponse(403, `Origin should be this server's own pages; got ${origin}.`);
    }
    await next();
  };
}

function hostName(address: string): string | null {
  try {
    return new URL(address).hostname.toLowerCase();
  } catch {
    return null;
  }
}
