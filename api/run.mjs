// Runs a TypeScript entry point: `node api/run.mjs api/command-line.ts ARGUMENT …`.
// Its sources are bundled in memory at every start: a bundle kept on disk could be older than the sources,
// and two starts at once could read it half written; bundling takes less time than loading file by file.
import { fileURLToPath } from "node:url";
import { buildSync } from "esbuild";

const [, self, entry, ...rest] = process.argv;
const { outputFiles } = buildSync({
  absWorkingDir: fileURLToPath(new URL("..", import.meta.url)),
  entryPoints: [entry],
  bundle: true,
  write: false,
  platform: "node",
  format: "esm",
  target: "node20",
  logLevel: "error",
});
process.argv = [process.argv[0], self, ...rest];
await import(`data:text/javascript;base64,${Buffer.from(outputFiles[0].contents).toString("base64")}`);
