/** How times, sizes and counts are written on screen; measured figures are rounded by the analysis. */
import { fixed } from "../../analysis/index.ts";

/** Time within a log: 75.5 → '1:15.5'. */
export function clock(seconds: number): string {
  const minutes = Math.floor(Math.abs(seconds) / 60);
  const rest = Math.abs(seconds) - minutes * 60;
  const sign = seconds < 0 ? "−" : "";
  return minutes > 0 ? `${sign}${minutes}:${rest.toFixed(1).padStart(4, "0")}` : `${sign}${rest.toFixed(1)} s`;
}

export function bytes(count: number): string {
  if (count < 1024) return `${count} B`;
  if (count < 1024 ** 2) return `${Math.round(count / 1024)} KiB`;
  if (count < 1024 ** 3) return `${(count / 1024 ** 2).toFixed(1)} MiB`;
  return `${(count / 1024 ** 3).toFixed(1)} GiB`;
}

/** 1240 → '1 240', the spaces narrow and unbreakable. */
export const count = (value: number): string => value.toLocaleString("en-GB").replaceAll(",", "\u202f");

/** Volts that are small, as a meter on its millivolt range would show them. */
export const smallVolts = (volts: number): string =>
  Math.abs(volts) < 0.1 ? `${fixed(volts * 1000, 0)} mV` : `${fixed(volts, 2)} V`;

export const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
