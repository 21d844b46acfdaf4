/** What this person likes: theme and units. Kept in this browser; jobs are stored in SI whatever is chosen here. */
import { effect, signal } from "@preact/signals";

export interface Settings {
  readonly theme: "auto" | "sun" | "night";
  readonly gauge: "awg" | "mm2";
  readonly length: "m" | "ft";
  readonly temperature: "C" | "F";
}

const key = "loopwalk-settings";
const usual: Settings = { theme: "auto", gauge: "awg", length: "m", temperature: "C" };

export const settings = signal<Settings>({ ...usual, ...kept() });
export const theme = signal<"sun" | "night">("sun");

function kept(): Partial<Settings> {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "{}") as Partial<Settings>;
  } catch {
    return {};
  }
}

const night = matchMedia("(prefers-color-scheme: dark)");

/** Paper is white: what is printed is drawn as for the sun. */
const printing = signal(false);

function applyTheme(): void {
  const { theme: wish } = settings.value;
  theme.value = printing.value ? "sun" : wish === "auto" ? (night.matches ? "night" : "sun") : wish;
  document.documentElement.dataset.theme = theme.value;
}

export function startSettings(): void {
  night.addEventListener("change", applyTheme);
  addEventListener("beforeprint", () => {
    printing.value = true;
  });
  addEventListener("afterprint", () => {
    printing.value = false;
  });
  effect(applyTheme);
  effect(() => localStorage.setItem(key, JSON.stringify(settings.value)));
}

export const feetPerMetre = 1 / 0.3048;
