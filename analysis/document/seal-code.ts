/** The code that a phone reads from the paper: the shop's public key and the record's hash (ISO/IEC 18004, by the library). */
import qrcode from "qrcode-generator";
import type { SquareCode } from "./record-model.ts";

/** Text of the code: key and hash, each on a line of its own, so that it can be read without this program. */
export const sealText = (publicKey: string, recordHash: string): string =>
  `Loopwalk record\nkey ${publicKey}\nsha256 ${recordHash}`;

/** Correction level M: a seventh of the code may be lost to a crease or a stain. */
export function sealCode(publicKey: string, recordHash: string): SquareCode {
  const code = qrcode(0, "M");
  code.addData(sealText(publicKey, recordHash));
  code.make();
  const across = Array.from({ length: code.getModuleCount() }, (_, place) => place);
  return across.map((row) => across.map((column) => code.isDark(row, column)));
}
