/**
 * What the server says of its work, one JSON object a line on standard error: failures always, every request where
 * LOG=requests. No body, no query and no name of a customer is ever written there.
 */
import type { MiddlewareHandler } from "hono";

export function logLine(level: "info" | "error", what: string, fields: Readonly<Record<string, unknown>>): void {
  process.stderr.write(`${JSON.stringify({ time: new Date().toISOString(), level, what, ...fields })}\n`);
}

export function logError(method: string, path: string, error: Error): void {
  const { code } = error as { code?: unknown };
  logLine("error", "request failed", { method, path, code, error: error.stack ?? error.message });
}

export function requestLog(everyRequest: boolean): MiddlewareHandler {
  return async (c, next) => {
    const began = performance.now();
    await next();
    if (!everyRequest) return;
    const milliseconds = Math.round((performance.now() - began) * 10) / 10;
    logLine("info", "request", { method: c.req.method, path: c.req.path, status: c.res.status, milliseconds });
  };
}
