/** Which methods an address has: what tells 405 (with Allow) from 404. */
import type { Paths } from "./operation.ts";

/** @returns as `GET, HEAD, PUT`; null where no path has this address */
export function methodsOf(paths: Paths, address: string): string | null {
  for (const [path, operations] of Object.entries(paths)) {
    if (!new RegExp(`^${path.replaceAll(/\{\w+\}/g, "[^/]+")}$`).test(address)) continue;
    const methods = Object.keys(operations).map((method) => method.toUpperCase());
    return (methods.includes("GET") ? [...methods, "HEAD"] : methods).sort().join(", ");
  }
  return null;
}
