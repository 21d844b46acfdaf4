/**
 * A meter's bytes as they came, to be played again: for a demonstration, a test, or to show what went wrong.
 * The `bytes` are those of a lesson (formats.md section 4); a lesson's file can be played as it is.
 */
import { fromBase64, toBase64 } from "./base64.ts";
import type { Chunk, LinkState } from "./meter-stream.ts";

export interface ByteLog {
  readonly format: "bytes/1" | "teach/1";
  readonly bytes: readonly { readonly seconds: number; readonly base64: string; readonly channel?: string }[];
  /** where the link was lost and found */
  readonly states?: readonly { readonly seconds: number; readonly state: LinkState }[];
}

export const written = ({ seconds, bytes, channel }: Chunk): ByteLog["bytes"][number] => ({
  seconds: Math.round(seconds * 1e4) / 1e4,
  base64: toBase64(bytes),
  ...(channel ? { channel } : {}),
});

/** @throws {Error} in a sentence, where the text is no recording of bytes */
export function parseByteLog(text: string, file: string): ByteLog {
  try {
    const log = JSON.parse(text) as ByteLog;
    if ((log.format !== "bytes/1" && log.format !== "teach/1") || !Array.isArray(log.bytes)) throw new Error();
    let last = Number.NEGATIVE_INFINITY;
    for (const { seconds, base64 } of log.bytes) {
      if (typeof seconds !== "number" || !(seconds >= last)) throw new Error();
      last = seconds;
      fromBase64(base64);
    }
    return log;
  } catch {
    throw new Error(
      `${file}: should be a recording of a meter's bytes ("bytes/1" or "teach/1"); it is something else.`,
    );
  }
}
