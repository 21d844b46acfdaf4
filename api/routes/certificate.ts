/** GET /api/certificate: the shop's root certificate, which a phone installs once so that it trusts this server. It is public. */
import { readFile } from "node:fs/promises";
import { Hono } from "hono";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";

export const certificatePaths: Paths = {
  "/api/certificate": {
    get: {
      summary: "The shop's root certificate",
      answers: { 200: { words: "The certificate", media: "application/x-x509-ca-cert" } },
      problems: [404],
    },
  },
};

/** @param file as the server was started with; null: it serves without HTTPS */
export const certificate = (file: string | null) =>
  new Hono().get("/", async (c) => {
    if (file === null) throw new Refusal(404, "This server has no certificate (npm run certificate makes one).");
    return c.body(await readFile(file), 200, {
      "content-type": "application/x-x509-ca-cert",
      "content-disposition": 'attachment; filename="shop-root.crt"',
    });
  });
