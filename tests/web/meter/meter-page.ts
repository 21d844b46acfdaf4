/** A bare page that has the streams of web/meter and nothing else, served with the API as the app is. */
import { mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { build } from "esbuild";
import { type RealServer, startServer } from "../../fixtures/real-server.ts";

const project = resolve(import.meta.dirname, "../../..");

/** What the page keeps of a stream, and how a test makes it open one. */
const page = `
import { BluetoothStream } from "./web/meter/bluetooth-stream.ts";
import { SerialStream } from "./web/meter/serial-stream.ts";
import { ServerStream } from "./web/meter/server-stream.ts";
import { ReplayStream } from "./web/meter/replay-stream.ts";
const heard = { bytes: [], seconds: [], states: [], stream: null };
const listener = {
  bytes({ seconds, bytes }) { heard.bytes.push(...bytes); heard.seconds.push(seconds); },
  state(state) { heard.states.push(state); },
};
const open = async (stream) => {
  heard.stream = stream;
  try { await stream.open(listener); return "open"; } catch (error) { return error.message; }
};
Object.assign(globalThis, { heard, open, BluetoothStream, SerialStream, ServerStream, ReplayStream });
`;

export async function meterPage(): Promise<RealServer & { readonly page: string }> {
  const folder = mkdtempSync(join(tmpdir(), "meter-page-"));
  await build({
    stdin: { contents: page, resolveDir: project },
    bundle: true,
    format: "esm",
    target: "es2022",
    outfile: join(folder, "page.js"),
  });
  const html = '<!doctype html><meta charset="utf-8"><title>meter</title><script type="module" src="page.js"></script>';
  writeFileSync(join(folder, "index.html"), html);
  const data = mkdtempSync(join(tmpdir(), "meter-data-"));
  const server = await startServer({ WEB_ROOT: folder, DATA_DIR: data });
  return { ...server, page: `${server.address.replace("127.0.0.1", "localhost")}/` };
}
