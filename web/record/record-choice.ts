/** How the next record is to be: paper, length, with or without the customer, signed or not. Stays as it is until the app is closed. */
import { computed, signal } from "@preact/signals";
import { settings } from "../settings.ts";
import type { BrowserChoice } from "./make-record.ts";
import { shopKey } from "./shop-key.ts";

export const recordChoice = signal<
  Pick<BrowserChoice, "paper" | "form" | "shared"> & { /** where there is a key */ readonly signed: boolean }
>({ paper: "a4", form: "full", shared: false, signed: true });

export function signsWithKey(signed: boolean): void {
  recordChoice.value = { ...recordChoice.value, signed };
}

/** The key that the PDF is signed with; null: it is not. */
export const signingKey = computed(() => (recordChoice.value.signed ? shopKey.value : null));

/** Today's day in this place, as '2026-11-25'. */
export const dayOf = (date: Date): string =>
  [date.getFullYear(), date.getMonth() + 1, date.getDate()].map((part) => String(part).padStart(2, "0")).join("-");

export function browserChoice(today: Date): BrowserChoice {
  const { paper, form, shared } = recordChoice.value;
  return { madeOn: dayOf(today), paper, units: settings.value.length === "ft" ? "imperial" : "metric", form, shared };
}
