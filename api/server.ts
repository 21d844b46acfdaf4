/** Puts the app on a port: HOST and PORT, 127.0.0.1:8080 where they are not set. Stops cleanly on SIGTERM. */
import { serveApp } from "./serve.ts";

process.exitCode = await serveApp(process.env);
