/**
 * Keeps the whole app in the browser, so that it opens without a network.
 * A new version waits until the person says so: nobody wants a reload in the middle of a measurement.
 */
import { signal } from "@preact/signals";

export const newVersion = signal<(() => void) | null>(null);
export const readyOffline = signal(false);

export function startOffline(): void {
  if (!import.meta.env.PROD || !("serviceWorker" in navigator)) return;
  void navigator.serviceWorker.ready.then(() => {
    readyOffline.value = true;
  });
  void navigator.serviceWorker.register("./sw.js").then((registration) => {
    offerWaiting(registration);
    registration.addEventListener("updatefound", () => {
      const coming = registration.installing;
      coming?.addEventListener("statechange", () => {
        if (coming.state === "installed") offerWaiting(registration);
      });
    });
  });
}

function offerWaiting(registration: ServiceWorkerRegistration): void {
  const waiting = registration.waiting;
  if (!waiting || !navigator.serviceWorker.controller) return;
  newVersion.value = () => {
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    waiting.postMessage({ type: "SKIP_WAITING" });
  };
}
