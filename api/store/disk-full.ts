/** Whether an error says that there is no room left, in the words of the file system, SQLite or PostgreSQL. */
const noRoom = new Set(["ENOSPC", "EDQUOT", "SQLITE_FULL", "53100"]);

export function isDiskFull(error: unknown): boolean {
  const { code, cause } = (error ?? {}) as { code?: unknown; cause?: unknown };
  return (typeof code === "string" && noRoom.has(code)) || (cause !== undefined && isDiskFull(cause));
}
