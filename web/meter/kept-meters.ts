/** Meters that are known here: kept in the browser, passed on as a file or as a QR code. */
import { signal } from "@preact/signals";
import { deflateSync, inflateSync, strFromU8, strToU8 } from "fflate";
import { checkRecipe, Problem } from "../../analysis/index.ts";
import { fromBase64, toBase64 } from "./base64.ts";
import { type KeptMeter, type MeterLink, meterDatabase } from "./meter-database.ts";

export const keptMeters = signal<readonly KeptMeter[]>([]);

export async function listKeptMeters(): Promise<void> {
  const all = await (await meterDatabase()).getAll("meters");
  keptMeters.value = all.sort((a, b) => b.keptMilliseconds - a.keptMilliseconds);
}

export async function keepMeter(meter: Omit<KeptMeter, "id" | "keptMilliseconds">): Promise<KeptMeter> {
  const kept = { ...meter, id: crypto.randomUUID(), keptMilliseconds: Date.now() };
  await (await meterDatabase()).put("meters", kept);
  await listKeptMeters();
  return kept;
}

export async function forgetMeter(id: string): Promise<void> {
  await (await meterDatabase()).delete("meters", id);
  await listKeptMeters();
}

/** A recipe as it is passed on: the recipe's own fields, with its name and how the meter is reached beside them. */
export function recipeText({ recipe, label, link }: Pick<KeptMeter, "recipe" | "label" | "link">): string {
  return `${JSON.stringify({ ...recipe, label, ...(link ? { link } : {}) }, null, 2)}\n`;
}

/**
 * @param text a recipe's file, or what its QR code says
 * @throws {Problem} in a sentence, where it is no recipe
 */
export function parseRecipeText(text: string, file: string): Pick<KeptMeter, "recipe" | "label" | "link"> {
  const document = parsed(text.trim(), file);
  const recipe = checkRecipe(document);
  const { link, label } = document as { link?: MeterLink; label?: unknown };
  const name = typeof label === "string" && label.trim() !== "" ? label : file.replace(/\.(recipe\.)?json$/, "");
  return { recipe, label: name, ...(isLink(link) ? { link } : {}) };
}

function parsed(text: string, file: string): unknown {
  try {
    return JSON.parse(text.startsWith(qrMark) ? unpacked(text) : text);
  } catch {
    throw new Problem("should be a meter's recipe; it is something else", { file });
  }
}

const isLink = (link: MeterLink | undefined): link is MeterLink =>
  typeof link === "object" && link !== null && (link.kind === "bluetooth" || link.kind === "serial");

/** Before what a QR code holds of a recipe, so that it is told from any other. */
const qrMark = "meter-recipe:";

/** A recipe small enough for a code: packed, as text. */
export function qrText(meter: Pick<KeptMeter, "recipe" | "label" | "link">): string {
  return qrMark + toBase64(deflateSync(strToU8(JSON.stringify(JSON.parse(recipeText(meter)))), { level: 9 }));
}

/** A packed text is at most some kilobytes; more would not fit a code. */
const unpackedAtMost = 64 * 1024;

function unpacked(text: string): string {
  const bytes = inflateSync(fromBase64(text.slice(qrMark.length)), { out: new Uint8Array(unpackedAtMost) });
  return strFromU8(bytes);
}
