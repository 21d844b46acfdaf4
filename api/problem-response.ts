/** Errors as RFC 9457 problem details, with the place of a diagnosis error (file, line, column, field) added. */
import type { Context } from "hono";
import { HTTPException } from "hono/http-exception";
import { Problem } from "../analysis/index.ts";
import { DamagedLog, HashMismatch, logBytesAtMost, TooLong } from "./log-store/log-store.ts";
import { logError } from "./request-log.ts";
import { storeTrouble } from "./store/store-trouble.ts";
import { Cancelled, PoolFull } from "./worker-pool/worker-pool.ts";

const titles = {
  400: "The request cannot be read",
  401: "Somebody should sign in first",
  403: "This page may not ask that of this server",
  404: "Nothing is kept under this address",
  405: "This address does not do that",
  412: "Somebody else was first",
  413: "The body is too large",
  415: "The body is of a kind that is not read here",
  422: "The content cannot be taken as it stands",
  428: "The request should say what it replaces",
  429: "Too many tries",
  499: "Nobody waits for the answer",
  500: "The server failed at this request",
  503: "The server cannot do this now",
  507: "The disk is full",
} as const;

export type Status = keyof typeof titles;

/** @param more further members of the problem document, the place of the error among them */
export function problemResponse(
  status: Status,
  detail: string,
  more: Readonly<Record<string, unknown>> = {},
  headers: Readonly<Record<string, string>> = {},
): Response {
  const body = { type: "about:blank", title: titles[status], status, detail, ...more };
  return new Response(JSON.stringify(body), {
    status,
    headers: { "content-type": "application/problem+json", ...headers },
  });
}

/** A request that is refused: what is wrong with it is the client's to know. */
export class Refusal extends Error {
  constructor(
    readonly status: Status,
    detail: string,
    readonly more: Readonly<Record<string, unknown>> = {},
    readonly headers: Readonly<Record<string, string>> = {},
  ) {
    super(detail);
  }
}

/** What a route threw: bad input says where, a store in trouble says which, anything else no more than that it failed. */
export function onError(error: Error, c: Context): Response {
  if (error instanceof Refusal) return problemResponse(error.status, error.message, error.more, error.headers);
  if (error instanceof Problem) return problemResponse(422, error.message, { ...error.place });
  if (error instanceof HTTPException) return problemResponse(error.status as Status, error.message);
  if (error instanceof HashMismatch) return problemResponse(422, `${error.message}.`, { field: "sha256" });
  if (error instanceof TooLong) return tooLarge(logBytesAtMost);
  if (error instanceof Cancelled) return problemResponse(499, error.message);
  if (error instanceof PoolFull) {
    const seconds = String(error.retryAfterSeconds);
    return problemResponse(503, `Try again in ${seconds} s: ${error.message}.`, {}, { "retry-after": seconds });
  }
  logError(c.req.method, c.req.path, error);
  if (error instanceof DamagedLog) return problemResponse(500, `${error.message}.`);
  const trouble = storeTrouble(error);
  if (trouble === "full") {
    return problemResponse(507, "There is no room left where the server keeps its data: nothing was changed.");
  }
  if (trouble === "away") {
    return problemResponse(503, "The server's store does not answer; try again.", {}, { "retry-after": "5" });
  }
  return problemResponse(500, "Something went wrong inside the server; its log says more.");
}

export const tooLarge = (bytesAtMost: number): Response =>
  problemResponse(413, `The body should be at most ${bytesAtMost} bytes long.`);
