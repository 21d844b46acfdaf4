/** What is wrong with the store when it refuses, in the words of the file system, SQLite, PostgreSQL or an object store. */
const noRoom = new Set(["ENOSPC", "EDQUOT", "SQLITE_FULL", "53100", "XMinioStorageFull", "InsufficientStorage"]);
const away = new Set(["ECONNREFUSED", "ECONNRESET", "ETIMEDOUT", "EPIPE", "ENOTFOUND", "EAI_AGAIN", "SQLITE_BUSY"]);
/** PostgreSQL, appendix A: connection exceptions, too many connections, and a server that is starting or stopping. */
const awayStates = /^(08...|53300|57P0[1-3])$/;

export type StoreTrouble = "full" | "away";

/** null: the error is about something else */
export function storeTrouble(error: unknown): StoreTrouble | null {
  const { code, name, message, cause } = (error ?? {}) as Record<string, unknown>;
  for (const word of [code, name]) {
    if (typeof word !== "string") continue;
    if (noRoom.has(word)) return "full";
    if (away.has(word) || awayStates.test(word)) return "away";
  }
  if (typeof message === "string" && /connection terminated|timeout exceeded when trying to connect/i.test(message))
    return "away";
  return cause === undefined ? null : storeTrouble(cause);
}
