/**
 * Keeps strangers' pages away: a page on the web can make the browser send requests here, under its own Origin or, by
 * rebinding a name, under its own Host. What the browser says of itself (Origin, Sec-Fetch-Site) must agree with Host.
 */
import type { MiddlewareHandler } from "hono";
import { problemResponse } from "./problem-response.ts";

const loopbackHosts = new Set(["localhost", "127.0.0.1", "[::1]"]);

/** @param allowedHosts further names that this server is reached by, as `workshop.lan` */
export function sameMachine(allowedHosts: readonly string[] = []): MiddlewareHandler {
  const allowed = new Set([...loopbackHosts, ...allowedHosts.map((host) => host.toLowerCase())]);
  return async (c, next) => {
    const host = (c.req.header("host") ?? new URL(c.req.url).host).toLowerCase();
    const name = urlOf(`http://${host}`)?.hostname ?? "none";
    if (!allowed.has(name)) {
      const words = `Host should be one of ${[...allowed].join(", ")}; got ${name}.`;
      return problemResponse(403, words, { field: "host" });
    }
    // both leave out the port where it is their scheme's own
    const origin = c.req.header("origin");
    if (origin !== undefined && urlOf(origin)?.host !== host) {
      return problemResponse(403, `Origin should be this server's own pages; got ${origin}.`, { field: "origin" });
    }
    const site = c.req.header("sec-fetch-site");
    if (c.req.path.startsWith("/api/") && (site === "cross-site" || site === "same-site")) {
      return problemResponse(403, "Only this server's own pages may ask this of it.", { field: "sec-fetch-site" });
    }
    await next();
  };
}

function urlOf(text: string): URL | null {
  try {
    return new URL(text);
  } catch {
    return null;
  }
}
