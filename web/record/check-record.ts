/** A record given to the app: whether what it prints follows from the logs inside, and whether it is as it was signed. */
import { checkRecord, type RecordCheck } from "../../analysis/index.ts";
import { version } from "../../package.json";
import { fits, sha256 } from "./web-crypto.ts";

/** @throws {Problem} where it is no record that can be opened */
export async function checkGivenRecord(file: File): Promise<RecordCheck> {
  return checkRecord(new Uint8Array(await file.arrayBuffer()), file.name, version, { sha256, fits });
}
