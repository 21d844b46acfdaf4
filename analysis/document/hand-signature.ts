/**
 * A name signed on the glass: strokes kept in the job, with a hash of what was signed beside them.
 * It tells whether the job is still what it was under the hand; it proves nothing of who held the pen.
 */
import type { Job, Signature } from "../job/job.ts";

export type { Signature };

/** The field that is written on; strokes hold x and y by turns, from its upper left corner. */
export const signatureField = { width: 600, height: 200 } as const;

/**
 * The text whose SHA-256 a signature keeps as `over`: the job without its signatures, and the hash of every other file.
 * Fields are put in an order of their own, since a job that travels is written anew.
 * @param hashes lower-case hex SHA-256 by file name; job.json's own is left out
 */
export function signedContent(job: Job, hashes: Readonly<Record<string, string>>): string {
  const { signatures: _, ...rest } = job;
  const recordings = job.recordings.map(({ sha256: __, ...recording }) => recording);
  const { "job.json": ___, ...files } = hashes;
  return JSON.stringify(inOrder({ ...rest, recordings, files }));
}

function inOrder(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(inOrder);
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .filter(([, inner]) => inner !== undefined)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, inner]) => [key, inOrder(inner)]),
  );
}
