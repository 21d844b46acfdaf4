/** The built app and a browser that run as long as a group of tests. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll } from "vitest";
import { launch, type RunningApp, startApp, startMilliseconds } from "./app-under-test.ts";

/** The app and a browser for a whole group of tests: they run from its first test to its last. */
export function appInBrowser(): { readonly app: RunningApp; readonly browser: Browser } {
  const running = {} as { app: RunningApp; browser: Browser };
  beforeAll(async () => {
    [running.app, running.browser] = await Promise.all([startApp(), launch()]);
  }, startMilliseconds);
  afterAll(async () => {
    await running.browser?.close();
    await running.app?.stop();
  });
  return running;
}
