/** Errors as RFC 9457 problem details, with the place of a diagnosis error (file, line, column, field) added. */
import type { Context } from "hono";
import { HTTPException } from "hono/http-exception";
import { Problem, type ProblemPlace } from "../analysis/index.ts";

type Status = 400 | 403 | 404 | 405 | 413 | 415 | 422 | 500 | 503;

const titles: Record<Status, string> = {
  400: "The request cannot be read",
  403: "This page may not ask that of this server",
  404: "Nothing is kept under this address",
  405: "This address does not do that",
  413: "The body is too large",
  415: "The body is of a kind that is not read here",
  422: "The job cannot be diagnosed as it stands",
  500: "The server failed at this request",
  503: "The server cannot serve yet",
};

export function problemResponse(status: Status, detail: string, place: ProblemPlace = {}): Response {
  const body = { type: "about:blank", title: titles[status], status, detail, ...place };
  return new Response(JSON.stringify(body), { status, headers: { "content-type": "application/problem+json" } });
}

/** What a route threw: bad input says where, anything else says no more than that it failed. */
export function onError(error: Error, c: Context): Response {
  if (error instanceof Problem) return problemResponse(422, error.message, error.place);
  if (error instanceof HTTPException) return problemResponse(error.status as Status, error.message);
  console.error(`${c.req.method} ${c.req.path}: ${error.stack ?? error.message}`);
  return problemResponse(500, "Something went wrong inside the server; its log says more.");
}
