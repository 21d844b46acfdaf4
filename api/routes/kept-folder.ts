/** GET /api/jobs/{id}/folder: the job folder as a zip, made as it is sent; a log is in memory a piece at a time. */
import { setImmediate } from "node:timers/promises";
import { Zip, ZipDeflate } from "fflate";
import type { Context } from "hono";
import { parseJob } from "../../analysis/index.ts";
import { filesOf, jobJson } from "../kept-document.ts";
import type { Env } from "../request.ts";
import type { Services } from "../services.ts";
import type { KeptDocument } from "../store/job-store.ts";

/** The same folder makes the same zip, whenever it is asked for. */
const zipTime = "2026-01-01T00:00:00";
const level = 6;

export async function keptFolder(services: Services, c: Context<Env>, kept: KeptDocument): Promise<Response> {
  const { job } = parseJob(kept.text);
  const { shop } = c.get("author");
  const name = `${
    job.title
      .replaceAll(/[^A-Za-z0-9]+/g, "-")
      .replaceAll(/^-+|-+$/g, "")
      .slice(0, 60) || "job"
  }.zip`;
  return new Response(ReadableStream.from(folderPieces(services, shop, kept.text)), {
    headers: {
      "content-type": "application/zip",
      "content-disposition": `attachment; filename="${name}"`,
      "cache-control": "private, no-cache",
    },
  });
}

export async function* folderPieces(
  { logRecords, logStore }: Pick<Services, "logRecords" | "logStore">,
  shop: string,
  text: string,
): AsyncGenerator<Uint8Array> {
  const made: Uint8Array[] = [];
  const zip = new Zip((error, piece) => {
    if (error) throw error;
    made.push(piece);
  });
  const taken = () => made.splice(0);
  addFile(zip, "job.json").push(new TextEncoder().encode(jobJson(text)), true);
  for (const { name, sha256 } of filesOf(parseJob(text).job)) {
    // a log that was never sent cannot be in the folder; the job still says where it belongs
    if ((await logRecords.bytes(shop, sha256)) === null) continue;
    const log = await logStore.read(sha256);
    if (!log) throw new Error(`the log ${sha256} is recorded and not in the store`);
    const file = addFile(zip, name);
    for await (const piece of log.pieces) {
      file.push(piece);
      yield* taken();
      await setImmediate();
    }
    file.push(new Uint8Array(0), true);
    yield* taken();
  }
  zip.end();
  yield* taken();
}

function addFile(zip: Zip, name: string): ZipDeflate {
  const file = new ZipDeflate(name, { level });
  file.mtime = zipTime;
  zip.add(file);
  return file;
}
