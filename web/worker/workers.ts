/** Both workers as the screens see them: started when first needed; the analyst is thrown away when its work is cancelled. */
import { type Remote, releaseProxy, wrap } from "comlink";
import type { Analyst } from "./analyst.ts";
import type { Clerk } from "./clerk.ts";

let diagnosing: { readonly worker: Worker; readonly proxy: Remote<Analyst> } | null = null;
let filing: Remote<Clerk> | null = null;

export function analyst(): Remote<Analyst> {
  if (!diagnosing) {
    const worker = new Worker(new URL("./analyst.ts", import.meta.url), { type: "module", name: "analyst" });
    diagnosing = { worker, proxy: wrap<Analyst>(worker) };
  }
  return diagnosing.proxy;
}

/** Stops the diagnosis that is under way; the next one starts afresh. */
export function dismissAnalyst(): void {
  diagnosing?.proxy[releaseProxy]();
  diagnosing?.worker.terminate();
  diagnosing = null;
}

export function clerk(): Remote<Clerk> {
  filing ??= wrap<Clerk>(new Worker(new URL("./clerk.ts", import.meta.url), { type: "module", name: "clerk" }));
  return filing;
}
