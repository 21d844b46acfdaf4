/**
 * Passwords as scrypt hashes: `scrypt$N$r$p$salt$hash`, so that a later program can ask for more and still read these.
 * Cost: N = 2^15, r = 8, p = 3 (one of the equivalent settings of the OWASP password storage guide; from memory).
 */
import { createHash, randomBytes, scrypt, timingSafeEqual } from "node:crypto";

const cost = { N: 2 ** 15, r: 8, p: 3 } as const;
const hashBytes = 32;
export const leastPasswordCharacters = 10;

export async function hashPassword(password: string): Promise<string> {
  const salt = randomBytes(16);
  const hash = await derived(password, salt, cost);
  return ["scrypt", cost.N, cost.r, cost.p, salt.toString("base64url"), hash.toString("base64url")].join("$");
}

/** @param kept null: there is no such account, which takes as long to say as that the password is wrong */
export async function isPassword(password: string, kept: string | null): Promise<boolean> {
  const [kind, N, r, p, salt = "", hash = ""] = (kept ?? (await nobody)).split("$");
  if (kind !== "scrypt") return false;
  const found = await derived(password, Buffer.from(salt, "base64url"), { N: Number(N), r: Number(r), p: Number(p) });
  return timingSafeEqual(found, Buffer.from(hash, "base64url")) && kept !== null;
}

/** Two secrets compared without saying, by the time it takes, where they differ. */
export function isSame(one: string, other: string): boolean {
  const [a, b] = [one, other].map((text) => createHash("sha256").update(text.normalize("NFC")).digest());
  return timingSafeEqual(a!, b!);
}

/** What is kept of a token or code: long enough by itself that a plain hash hides it. */
export const hashOfSecret = (secret: string): string => createHash("sha256").update(secret).digest("hex");

const nobody = hashPassword(randomBytes(16).toString("hex"));

function derived(password: string, salt: Buffer, { N, r, p }: { N: number; r: number; p: number }): Promise<Buffer> {
  return new Promise((done, failed) => {
    const options = { N, r, p, maxmem: 256 * N * r };
    scrypt(password.normalize("NFC"), salt, hashBytes, options, (error, key) => (error ? failed(error) : done(key)));
  });
}
