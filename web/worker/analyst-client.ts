/** The worker as the screens see it: started when first needed, thrown away when its work is cancelled. */
import { type Remote, releaseProxy, wrap } from "comlink";
import type { Analyst } from "./analyst.ts";

let worker: Worker | null = null;
let proxy: Remote<Analyst> | null = null;

export function analyst(): Remote<Analyst> {
  if (!proxy) {
    worker = new Worker(new URL("./analyst.ts", import.meta.url), { type: "module", name: "analyst" });
    proxy = wrap<Analyst>(worker);
  }
  return proxy;
}

/** Stops whatever is being computed; the next call starts afresh (logs are read again where they are needed). */
export function dismissAnalyst(): void {
  proxy?.[releaseProxy]();
  worker?.terminate();
  worker = null;
  proxy = null;
}
