/** One log file read for all its recordings, a piece at a time. */
import { setImmediate } from "node:timers/promises";
import { createLogReader, cutLogs, type ReadLog, type Recording } from "../analysis/index.ts";

export interface LogFile {
  /** its name in the job */
  readonly file: string;
  /** all of this file */
  readonly recordings: readonly Recording[];
  readonly bytes: number;
}

/** Logs are read in pieces of so many bytes. */
export const pieceBytes = 2 ** 18;

/**
 * @param took told of each piece
 * @param cut whether the logs are cut at once; else whoever judges them does it
 * @returns one a recording
 * @throws {Problem} where the file cannot be read
 */
export async function readLog(
  { file, recordings, bytes }: LogFile,
  pieces: Iterable<Uint8Array>,
  took: (bytes: number) => void,
  cut: boolean,
): Promise<ReadLog[]> {
  const reader = createLogReader(file, recordings, { bytesExpected: bytes });
  for (const piece of pieces) {
    reader.push(piece);
    took(piece.length);
    // Between pieces the event loop has its turn, so that Ctrl-C is heard.
    await setImmediate();
  }
  const logs = reader.finish();
  if (!cut) return logs;
  const cuts = cutLogs(logs.map(({ samples }) => samples));
  return logs.map((log, index) => ({ ...log, cut: cuts[index] }));
}
