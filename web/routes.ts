/**
 * Where the person is, as the part of the address after '#': it survives a reload and can be shared.
 * `#/` the jobs, `#/settings`, `#/key?room=CODE` (what a helper is told), `#/vehicle/NUMBER`, `#/job/ID/describe|measure|find|traces|repair|record?name=value`.
 */
import { signal } from "@preact/signals";

export const jobScreens = ["describe", "measure", "find", "traces", "repair", "record"] as const;
export type JobScreen = (typeof jobScreens)[number];

export type Route =
  | { readonly screen: "jobs" | "settings" | "key"; readonly query: URLSearchParams }
  | { readonly screen: "history"; readonly vehicleId: string; readonly query: URLSearchParams }
  | { readonly screen: JobScreen; readonly jobId: string; readonly query: URLSearchParams };

export const route = signal<Route>(parseRoute(location.hash));
addEventListener("hashchange", () => {
  route.value = parseRoute(location.hash);
});

export function parseRoute(hash: string): Route {
  const [path = "", search = ""] = hash.replace(/^#/, "").split("?");
  const query = new URLSearchParams(search);
  const [, first, jobId, screen] = path.split("/");
  if (first === "settings") return { screen: "settings", query };
  if (first === "key") return { screen: "key", query };
  if (first === "job" && jobId) {
    return { screen: jobScreens.find((known) => known === screen) ?? "measure", jobId, query };
  }
  if (first === "vehicle" && jobId) return { screen: "history", vehicleId: decoded(jobId), query };
  return { screen: "jobs", query };
}

/** What somebody typed into the address may be no code of a text: then it stands for itself. */
function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

export const vehicleAddress = (vehicleId: string): string => `#/vehicle/${encodeURIComponent(vehicleId)}`;

/** A number is written with and without spaces and dashes, large and small. */
export const sameVehicle = (a: string, b: string): boolean => plainNumber(a) === plainNumber(b);
const plainNumber = (text: string): string => text.replaceAll(/[\s-]+/g, "").toLowerCase();

export function addressOf(jobId: string, screen: JobScreen, query: Record<string, string> = {}): string {
  const search = new URLSearchParams(query).toString();
  return `#/job/${jobId}/${screen}${search ? `?${search}` : ""}`;
}

export function go(address: string): void {
  location.hash = address;
}
