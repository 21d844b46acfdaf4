/** The shop's key on this machine: made when first needed, kept in a file that only its owner reads, as a JSON Web Key. */
import { createPrivateKey, createPublicKey, generateKeyPairSync, sign as signWith, verify } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname } from "node:path";
import { type FitsSignature, Problem, type ShopKey, type Sign } from "../analysis/index.ts";

/** @throws {Problem} where the file is there and holds no such key, or cannot be written */
export function shopKey(path: string): ShopKey {
  return keptKey(path) ?? madeKey(path);
}

/** @returns null where there is no such file */
export function keptKey(path: string): ShopKey | null {
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === "ENOENT") return null;
    throw new Problem(`should be the shop's key, and readable; the system says ${code}`, { file: path });
  }
  try {
    const { kty, crv, x, d } = JSON.parse(text) as ShopKey;
    createPrivateKey({ key: { kty, crv, x, d }, format: "jwk" });
    return { kty, crv, x, d };
  } catch {
    throw new Problem("should hold the shop's key as a JSON Web Key of the kind Ed25519; this file does not", {
      file: path,
    });
  }
}

function madeKey(path: string): ShopKey {
  const { x, d } = generateKeyPairSync("ed25519").privateKey.export({ format: "jwk" });
  const key: ShopKey = { kty: "OKP", crv: "Ed25519", x: x!, d: d! };
  try {
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, `${JSON.stringify(key)}\n`, { mode: 0o600, flag: "wx" });
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new Problem(`the shop's key should go where files can be written; the system says ${code}`, { file: path });
  }
  return key;
}

export const sign: Sign = async (key, bytes) =>
  new Uint8Array(signWith(null, bytes, createPrivateKey({ key: { ...key }, format: "jwk" })));

export const fits: FitsSignature = async (publicKey, signature, bytes) => {
  try {
    const key = createPublicKey({ key: { kty: "OKP", crv: "Ed25519", x: publicKey }, format: "jwk" });
    return verify(null, bytes, key, signature);
  } catch {
    // No point of the curve: nothing was ever signed with it.
    return false;
  }
};
