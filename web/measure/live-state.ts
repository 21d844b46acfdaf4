/** What is connected and what is being taken, whatever screen is open. */
import { computed, signal } from "@preact/signals";
import { letSleep, stayAwake } from "../meter/awake.ts";
import { GuidedReading, type LivePlace, type Placed, type ReadingWish } from "../meter/guided-reading.ts";
import type { LiveMeter } from "../meter/live-meter.ts";

/** Two at once are as many as two hands clip on. */
export const metersAtMost = 2;

export const meters = signal<readonly LiveMeter[]>([]);
/** those that are read with a recipe */
export const readable = computed(() => meters.value.filter((meter) => meter.recipe.value !== null));
export const reading = signal<GuidedReading | null>(null);
/** where the second meter's clips were put: they stay on until somebody says otherwise */
export const secondPlace = signal<LivePlace | null>(null);
/** what could not be begun, in a sentence */
export const liveTrouble = signal<string | null>(null);

/** Two meters that speak alike are told apart by the order in which they came. */
export function nameOf(meter: LiveMeter): string {
  const label = meter.label.value;
  const alike = meters.value.filter((other) => other.label.value === label);
  return alike.length > 1 ? `${label} (${alike.indexOf(meter) + 1})` : label;
}

export function addMeter(meter: LiveMeter): void {
  meters.value = [...meters.value, meter];
  stayAwake();
}

export async function dropMeter(meter: LiveMeter): Promise<void> {
  if (reading.value?.placed.some((placed) => placed.meter === meter)) await endReading();
  meters.value = meters.value.filter((other) => other !== meter);
  secondPlace.value = null;
  if (meters.value.length === 0) letSleep();
  await meter.close();
}

export async function beginReading(placed: readonly Placed[], wish: ReadingWish): Promise<void> {
  await endReading();
  liveTrouble.value = null;
  secondPlace.value = placed[1]?.place ?? secondPlace.value;
  try {
    reading.value = await GuidedReading.begun(placed, wish);
  } catch {
    liveTrouble.value =
      "The browser's store cannot be written: nothing would be safe. Free some room, then begin again.";
  }
}

export async function endReading(): Promise<void> {
  const ending = reading.value;
  reading.value = null;
  await ending?.end();
}
