/**
 * Builds the web app into dist/: screens, worker, service worker, and the sample jobs as zips beside an index of them.
 */
import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import { join, resolve } from "node:path";
import { strToU8, zipSync } from "fflate";
import { defineConfig, type Plugin } from "vite";
import { VitePWA } from "vite-plugin-pwa";

const samplesFolder = resolve(import.meta.dirname, "sample-logs");

export default defineConfig({
  root: "web",
  base: "./",
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  build: { outDir: "../dist", emptyOutDir: true, target: "es2022", assetsInlineLimit: 0, chunkSizeWarningLimit: 400 },
  worker: { format: "es" },
  plugins: [
    sampleJobs(),
    VitePWA({
      registerType: "prompt",
      injectRegister: false,
      includeAssets: ["*.svg", "*.png"],
      manifest: {
        id: "./",
        name: "Loopwalk",
        short_name: "Loopwalk",
        description: "Finds which part of a 12 V feed eats the volts.",
        start_url: "./",
        display: "standalone",
        background_color: "#fffdf8",
        theme_color: "#14171a",
        icons: [
          { src: "icon.svg", sizes: "any", type: "image/svg+xml", purpose: "any" },
          { src: "icon-maskable.svg", sizes: "any", type: "image/svg+xml", purpose: "maskable" },
        ],
      },
      workbox: {
        globPatterns: ["**/*.{html,js,css,svg,json,zip,webmanifest}"],
        maximumFileSizeToCacheInBytes: 8 * 1024 * 1024,
        navigateFallbackDenylist: [/^\/api\//],
        cleanupOutdatedCaches: true,
        // the first visit is served from the cache as well: charts and workers are fetched later than the page
        clientsClaim: true,
      },
    }),
  ],
});

/** Each folder of sample-logs as `samples/NAME.zip` (the job and the files it names, nothing else), and `samples/index.json`. */
function sampleJobs(): Plugin {
  return {
    name: "sample-jobs",
    generateBundle() {
      const index = sampleNames().map((name) => {
        const { title, zip } = zippedSample(name);
        this.emitFile({ type: "asset", fileName: `samples/${name}.zip`, source: zip });
        return { name, title };
      });
      this.emitFile({ type: "asset", fileName: "samples/index.json", source: JSON.stringify(index) });
    },
  };
}

function sampleNames(): string[] {
  if (!existsSync(samplesFolder)) return [];
  return readdirSync(samplesFolder)
    .filter((name) => existsSync(join(samplesFolder, name, "job.json")))
    .sort();
}

function zippedSample(name: string): { title: string; zip: Uint8Array } {
  const folder = join(samplesFolder, name);
  const text = readFileSync(join(folder, "job.json"), "utf8");
  const job = JSON.parse(text) as { title?: string; recordings?: { file: string }[] };
  const files: Record<string, Uint8Array> = { "job.json": strToU8(text) };
  for (const { file } of job.recordings ?? []) {
    const path = join(folder, file);
    if (existsSync(path) && statSync(path).isFile()) files[file] = readFileSync(path);
  }
  return { title: job.title ?? name, zip: zipSync(files, { level: 6, mtime: "2026-01-01T00:00:00" }) };
}
