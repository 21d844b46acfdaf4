/**
 * POST /api/diagnoses: a zipped job folder, or job.json and its logs as a form → a diagnosis. Nothing is kept.
 */
import { Hono } from "hono";
import { bodyLimit } from "hono/body-limit";
import { diagnoseFiles, openZip, Problem, zipLimits } from "../../analysis/index.ts";
import { problemResponse } from "../problem-response.ts";

export const bodyBytesAtMost = 256 * 2 ** 20;
/** Unpacked logs stand in memory while they are read. */
const unpackedBytesAtMost = Math.min(zipLimits.bytes, 2 ** 30);

export const diagnoses = new Hono().post(
  "/",
  bodyLimit({
    maxSize: bodyBytesAtMost,
    onError: () => problemResponse(413, `The body should be at most ${bodyBytesAtMost} bytes long.`),
  }),
  async (c) => {
    const kind = c.req.header("content-type")?.split(";")[0]?.trim().toLowerCase() ?? "";
    if (kind === "application/zip") return c.json(diagnoseFiles("job.zip", zippedFiles(await c.req.arrayBuffer())));
    if (kind === "multipart/form-data") return c.json(diagnoseFiles("job", await formFiles(c.req.raw)));
    return problemResponse(
      415,
      `Content-Type should be application/zip or multipart/form-data; got ${kind || "none"}.`,
    );
  },
);

function zippedFiles(body: ArrayBuffer): Map<string, Uint8Array> {
  const folder = openZip(new Uint8Array(body), "job.zip");
  const total = folder.names.reduce((sum, name) => sum + (folder.size(name) ?? 0), 0);
  if (total > unpackedBytesAtMost) {
    throw new Problem(`should hold at most ${unpackedBytesAtMost} bytes unpacked; got ${total}`, { file: "job.zip" });
  }
  return new Map(folder.names.map((name) => [name, Buffer.concat([...(folder.read(name) ?? [])])]));
}

/** Each part with a file name is a file of the folder, whatever its field is called; a field `job.json` may be plain text. */
async function formFiles(request: Request): Promise<Map<string, Uint8Array>> {
  const form = await request.formData().catch(() => {
    throw new Problem("should be a whole form with its boundary; it is cut short or damaged", { file: "job" });
  });
  const files = new Map<string, Uint8Array>();
  for (const [field, value] of form) {
    if (typeof value === "string") files.set(field, new TextEncoder().encode(value));
    else files.set(value.name || field, new Uint8Array(await value.arrayBuffer()));
  }
  return files;
}
