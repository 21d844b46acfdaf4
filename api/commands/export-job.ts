/** `export JOB`: a kept job as a zipped job folder. */
import { createWriteStream } from "node:fs";
import { rename, rm } from "node:fs/promises";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import { Problem } from "../../analysis/index.ts";
import { folderPieces } from "../routes/kept-folder.ts";
import type { Services } from "../services.ts";
import { ownShop } from "../store/job-store.ts";

/** @throws {Problem} where there is no such job */
export async function exportJob(services: Services, id: string, file = `${id}.zip`, shop = ownShop): Promise<string> {
  const kept = await services.jobs.find(shop, id.toLowerCase());
  if (!kept) throw new Problem(`there should be a job ${id} in the store; there is none`);
  const beside = `${file}.partial`;
  try {
    await pipeline(Readable.from(folderPieces(services, shop, kept.text)), createWriteStream(beside));
    await rename(beside, file);
  } finally {
    await rm(beside, { force: true });
  }
  return file;
}
