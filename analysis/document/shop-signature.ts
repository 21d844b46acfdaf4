/**
 * The shop's signature under a whole record: Ed25519 (RFC 8032) over every byte of the PDF, in a comment behind its end.
 * A comment may stand anywhere in a PDF (ISO 32000-1:2008, 7.2.4), and the last lines are repeated after it, since a
 * reader looks for them at the end (7.5.5); clause numbers from memory.
 */
import { joined } from "./joined-bytes.ts";

/** A key of the shop as a JSON Web Key (RFC 8037): `x` is the public half, `d` the private one, both base64url. */
export interface ShopKey {
  readonly kty: "OKP";
  readonly crv: "Ed25519";
  readonly x: string;
  readonly d: string;
}

/** Signs with the key, by whatever the platform brings; the signature has 64 bytes. */
export type Sign = (key: ShopKey, bytes: Uint8Array) => Promise<Uint8Array>;
/** Whether a signature fits bytes and the public half of a key. */
export type FitsSignature = (publicKey: string, signature: Uint8Array, bytes: Uint8Array) => Promise<boolean>;

const mark = "%Loopwalk-Ed25519 ";
const signatureBytes = 64;
const endOfFile = /startxref\s+(\d+)\s+%%EOF\s*$/;
const signed = /\n%Loopwalk-Ed25519 ([0-9a-f]{128})\nstartxref\n(\d+)\n%%EOF\n$/;
/** The signature's lines are found within so many last bytes. */
const tailBytes = 400;

const lastText = (bytes: Uint8Array): string => String.fromCharCode(...bytes.subarray(-tailBytes));
const placeOfTable = (bytes: Uint8Array): string => endOfFile.exec(lastText(bytes))?.[1] ?? "0";

/** The record with its signature behind it. */
export function withSignature(record: Uint8Array, signature: Uint8Array): Uint8Array {
  const hex = Array.from(signature, (byte) => byte.toString(16).padStart(2, "0")).join("");
  const tail = `\n${mark}${hex}\nstartxref\n${placeOfTable(record)}\n%%EOF\n`;
  return joined([record, new TextEncoder().encode(tail)]);
}

/** A file taken apart: what was signed, and the signature; null where none stands at its end as this program writes it. */
export function withoutSignature(bytes: Uint8Array): { record: Uint8Array; signature: Uint8Array | null } {
  const found = signed.exec(lastText(bytes));
  if (!found) return { record: bytes, signature: null };
  const record = bytes.subarray(0, bytes.length - found[0].length);
  // A byte of the signature's own lines counts as well.
  if (found[2] !== placeOfTable(record)) return { record: bytes, signature: null };
  const signature = Uint8Array.from({ length: signatureBytes }, (_, index) =>
    Number.parseInt(found[1]!.slice(2 * index, 2 * index + 2), 16),
  );
  return { record, signature };
}
