/** `verify RECORD.pdf`: whether what a record prints follows from the logs inside it, in lines to be printed. */
import { readFileSync } from "node:fs";
import { checkRecord, Problem } from "../analysis/index.ts";
import { recordVersion, sha256 } from "./report.ts";
import { fits } from "./shop-key.ts";

export const verifyUsage = "npm run --silent diagnose -- verify RECORD.pdf";

/** @throws {Problem} where the file cannot be read or is no record */
export async function verifyRecord(path: string): Promise<{ follows: boolean; lines: string[] }> {
  const check = await checkRecord(bytesOf(path), path, recordVersion, { sha256, fits });
  const { follows, differences, files, madeOn, programVersion, recordHash, signature } = check;
  const made = `made on ${madeOn} by version ${programVersion}`;
  const sealed = [
    `  hash ${recordHash}`,
    signature === null
      ? "  not signed with a shop's key"
      : `  ${signature.fits ? "signed with" : "NOT as signed with"} the shop's key ${signature.publicKey}`,
  ];
  return {
    follows,
    lines: follows
      ? [`${path}: everything printed follows from the ${files} files inside (${made}).`, ...sealed]
      : [
          `${path}: not everything follows from the ${files} files inside (${made}):`,
          ...differences.map((one) => `  - ${one}`),
          ...sealed,
        ],
  };
}

function bytesOf(path: string): Uint8Array {
  try {
    return readFileSync(path);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new Problem(`should be a record that can be read; the system says ${code}`, { file: path });
  }
}
