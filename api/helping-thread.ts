/** The helper's own end: one log after the other is read and cut, until there are no more. */
import { parentPort } from "node:worker_threads";
import { Problem, type ReadLog } from "../analysis/index.ts";
import { filePieces } from "./file-pieces.ts";
import type { HelperWord, LogErrand } from "./log-helper.ts";
import { pieceBytes, readLog } from "./read-log.ts";

const port = parentPort!;
const room = new Uint8Array(pieceBytes);

port.on("message", async (errand: LogErrand | null) => {
  if (errand === null) port.close();
  else {
    const word = await answer(errand);
    port.postMessage(word, "logs" in word ? buffersOf(word.logs) : []);
  }
});

async function answer({ log, place }: LogErrand): Promise<HelperWord> {
  try {
    return {
      logs: await readLog(log, filePieces(place, log.file, room), (bytes) => port.postMessage({ took: bytes }), true),
    };
  } catch (error) {
    if (error instanceof Problem) return { problem: { reason: error.reason, place: error.place } };
    throw error;
  }
}

/** What is handed over; the rest is small and is copied. */
function buffersOf(logs: readonly ReadLog[]): ArrayBuffer[] {
  const large = logs.flatMap(({ samples, extremes, cut }) => [
    samples.seconds,
    samples.values,
    extremes?.lowest,
    extremes?.highest,
    cut?.samples.seconds,
    cut?.sums.values,
    cut?.sums.before,
  ]);
  return [...new Set(large.flatMap((numbers) => (numbers ? [numbers.buffer as ArrayBuffer] : [])))];
}
