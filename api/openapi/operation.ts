/** How a route describes what it does: the words, and the very schemas that check what comes in. */
import * as v from "valibot";

export interface Operation {
  readonly summary: string;
  readonly query?: v.ObjectSchema<v.ObjectEntries, undefined>;
  readonly headers?: Readonly<Record<string, string>>;
  /** media type → schema; null: bytes */
  readonly body?: Readonly<Record<string, v.GenericSchema | null>>;
  readonly answers: Readonly<Record<number, Answer>>;
  /** statuses of problem documents that this operation gives for reasons of its own */
  readonly problems?: readonly number[];
}

export interface Answer {
  readonly words: string;
  readonly media?: string;
  /** left out: bytes, or nothing where there is no media type */
  readonly schema?: v.GenericSchema;
  readonly headers?: readonly string[];
}

export type Method = "get" | "put" | "post" | "delete";
/** `/api/jobs/{id}` → method → what it does */
export type Paths = Readonly<Record<string, Partial<Readonly<Record<Method, Operation>>>>>;

export const ProblemSchema = v.looseObject({
  type: v.string(),
  title: v.string(),
  status: v.number(),
  detail: v.string(),
  file: v.optional(v.string()),
  line: v.optional(v.number()),
  column: v.optional(v.union([v.string(), v.number()])),
  field: v.optional(v.string()),
});
