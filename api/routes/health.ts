/** GET /api/health: 200 once the server can serve. */
import { Hono } from "hono";

export const health = new Hono().get("/", (c) => c.json({ status: "ready" }));
