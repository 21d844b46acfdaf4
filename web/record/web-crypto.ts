/** Hashes and signatures by the browser's own cryptography (Web Cryptography Level 2: SHA-256, Ed25519). */
import type { FitsSignature, Sha256, ShopKey, Sign } from "../../analysis/index.ts";

export const sha256: Sha256 = async (bytes) => {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes as BufferSource));
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
};

/** @throws {Error} in a sentence where this browser knows no Ed25519 */
export async function newShopKey(): Promise<ShopKey> {
  const { privateKey } = await known(
    crypto.subtle.generateKey("Ed25519", true, ["sign", "verify"]) as Promise<CryptoKeyPair>,
  );
  const { x, d } = await crypto.subtle.exportKey("jwk", privateKey);
  return { kty: "OKP", crv: "Ed25519", x: x!, d: d! };
}

export const sign: Sign = async ({ kty, crv, x, d }, bytes) => {
  const key = await known(crypto.subtle.importKey("jwk", { kty, crv, x, d }, "Ed25519", false, ["sign"]));
  return new Uint8Array(await crypto.subtle.sign("Ed25519", key, bytes as BufferSource));
};

export const fits: FitsSignature = async (publicKey, signature, bytes) => {
  const half = { kty: "OKP", crv: "Ed25519", x: publicKey };
  const key = await known(crypto.subtle.importKey("jwk", half, "Ed25519", false, ["verify"]));
  return crypto.subtle.verify("Ed25519", key, signature as BufferSource, bytes as BufferSource);
};

async function known<Key>(asked: Promise<Key>): Promise<Key> {
  try {
    return await asked;
  } catch (error) {
    if (error instanceof DOMException && error.name === "NotSupportedError")
      throw new Error("Signing needs a browser that knows Ed25519; this one is too old for it. Everything else works.");
    throw error;
  }
}
