/** Reading what a request says: ids, queries, preconditions and bodies, each refused with its name where it makes no sense. */
import type { Context } from "hono";
import * as v from "valibot";
import { Refusal } from "./problem-response.ts";
import type { Author } from "./store/job-store.ts";

/** Who asks: set by the door (accounts/door.ts) before any route runs. */
export interface Env {
  Variables: { author: Author };
}

export const JobIdSchema = v.pipe(
  v.string(),
  v.regex(/^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i, "a UUID"),
  v.transform((id) => id.toLowerCase()),
);

/** @throws {Refusal} 400 naming the field */
export function taken<Schema extends v.GenericSchema>(
  schema: Schema,
  value: unknown,
  field: string,
): v.InferOutput<Schema> {
  const result = v.safeParse(schema, value);
  if (result.success) return result.output;
  const [{ message, received }] = result.issues;
  throw new Refusal(400, `${field}: should be ${message.replace(/^Invalid.*?: /, "")}; got ${received}.`, { field });
}

/** A query that a schema describes field by field; what the schema does not name is refused. */
export function query<Entries extends v.ObjectEntries>(
  c: Context,
  schema: v.ObjectSchema<Entries, undefined>,
): v.InferOutput<v.ObjectSchema<Entries, undefined>> {
  const given = c.req.queries();
  for (const [name, values] of Object.entries(given)) {
    if (!(name in schema.entries)) {
      const known = Object.keys(schema.entries).join(", ");
      throw new Refusal(400, `${name}: should be one of ${known}; it is not known here.`, { field: name });
    }
    if (values.length > 1)
      throw new Refusal(400, `${name}: should be given once; got ${values.length}.`, { field: name });
  }
  const fields = Object.entries(schema.entries).map(([name, field]) => [
    name,
    taken(field as v.GenericSchema, given[name]?.[0], name),
  ]);
  return Object.fromEntries(fields);
}

/** The text of a JSON body. @throws {Refusal} 415, 413 or 400 */
export async function jsonText(c: Context, bytesAtMost: number): Promise<string> {
  const kind = mediaType(c);
  if (kind !== "application/json") {
    throw new Refusal(415, `Content-Type should be application/json; got ${kind || "none"}.`, {
      field: "content-type",
    });
  }
  const bytes = await bodyBytes(c, bytesAtMost);
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    throw new Refusal(400, "The body should be text in UTF-8; it holds bytes that are not.", { field: "body" });
  }
}

/** A small JSON body that a schema describes. */
export async function jsonBody<Schema extends v.GenericSchema>(
  c: Context,
  schema: Schema,
): Promise<v.InferOutput<Schema>> {
  const text = await jsonText(c, 16 * 1024);
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw new Refusal(400, "The body should be JSON.", { field: "body" });
  }
  const result = v.safeParse(schema, value);
  if (result.success) return result.output;
  const [issue] = result.issues;
  const field = v.getDotPath(issue) ?? "body";
  throw new Refusal(422, `${field}: should be ${issue.expected ?? issue.message}; got ${issue.received}.`, { field });
}

export const mediaType = (c: Context): string =>
  c.req.header("content-type")?.split(";")[0]?.trim().toLowerCase() ?? "";

/** The body, read no further than it may be long. */
export async function bodyBytes(c: Context, bytesAtMost: number): Promise<Uint8Array> {
  const pieces: Uint8Array[] = [];
  for await (const piece of bodyPieces(c, bytesAtMost)) pieces.push(piece);
  return pieces.length === 1 ? pieces[0]! : Buffer.concat(pieces);
}

export async function* bodyPieces(c: Context, bytesAtMost: number): AsyncGenerator<Uint8Array> {
  const refuse = () => new Refusal(413, `The body should be at most ${bytesAtMost} bytes long.`, { field: "body" });
  if (Number(c.req.header("content-length") ?? 0) > bytesAtMost) throw refuse();
  let length = 0;
  for await (const piece of c.req.raw.body ?? []) {
    length += piece.length;
    if (length > bytesAtMost) throw refuse();
    yield piece;
  }
}

/** `If-Match` as revision numbers; tags that are none of ours match nothing. Weak tags never match (RFC 9110, 13.1.1). */
export function ifMatch(c: Context): "present" | number[] | null {
  const header = c.req.header("if-match");
  if (header === undefined) return null;
  if (header.trim() === "*") return "present";
  const tags = entityTags(header, "if-match");
  return tags.flatMap(({ weak, tag }) => (!weak && /^\d{1,15}$/.test(tag) ? [Number(tag)] : []));
}

/** Whether `If-None-Match` names this tag: the client has what it asks for (RFC 9110, 13.1.2). */
export function isKnown(c: Context, tag: string): boolean {
  const header = c.req.header("if-none-match");
  if (header === undefined) return false;
  return header.trim() === "*" || entityTags(header, "if-none-match").some((known) => `"${known.tag}"` === tag);
}

/** RFC 9110, 8.8.3: tags in double quotes, W/ before weak ones, commas between. */
function entityTags(header: string, field: string): { weak: boolean; tag: string }[] {
  const one = /\s*(W\/)?"([\x21\x23-\x7e\x80-\xff]*)"\s*(?:,|$)/y;
  const tags: { weak: boolean; tag: string }[] = [];
  while (one.lastIndex < header.length) {
    const found = one.exec(header);
    if (!found) {
      throw new Refusal(400, `${field}: should be * or tags in double quotes, as "12"; got ${header.slice(0, 80)}.`, {
        field,
      });
    }
    tags.push({ weak: found[1] !== undefined, tag: found[2]! });
  }
  return tags;
}

export const tagOf = (revision: number): string => `"${revision}"`;
