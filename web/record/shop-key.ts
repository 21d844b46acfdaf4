/** The shop's key in this browser: made when first asked for, kept in its store, carried to another device as a file. */
import { signal } from "@preact/signals";
import type { ShopKey } from "../../analysis/index.ts";
import { database } from "../storage/database.ts";
import { newShopKey, sign } from "./web-crypto.ts";

const place = "shop-key";

/** null: there is none yet, or it has not been looked for */
export const shopKey = signal<ShopKey | null>(null);

export async function findShopKey(): Promise<void> {
  const text = await (await database()).get("facts", place);
  shopKey.value = text === undefined ? null : (JSON.parse(text) as ShopKey);
}

export async function makeShopKey(): Promise<void> {
  await keep(await newShopKey());
}

/** A key that was saved on another device. @throws {Error} in a sentence where the file holds none */
export async function takeShopKey(file: File): Promise<void> {
  let key: ShopKey;
  try {
    const { kty, crv, x, d } = JSON.parse(await file.text()) as ShopKey;
    key = { kty, crv, x, d };
    await sign(key, new Uint8Array());
  } catch {
    throw new Error(`${file.name}: should hold a shop's key as this program saves it; it does not.`);
  }
  await keep(key);
}

export const keyFileText = (key: ShopKey): string => `${JSON.stringify(key)}\n`;

async function keep(key: ShopKey): Promise<void> {
  await (await database()).put("facts", JSON.stringify(key), place);
  shopKey.value = key;
}
