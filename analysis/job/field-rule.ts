/**
 * What a field of a job may hold, in words, and which fields a job has that nobody knows.
 * Goes in: the schema and a path into it. Comes out: half of the sentence that a Problem is built of.
 */
import type * as v from "valibot";

export type Key = string | number;

/** The few things that are read of a Valibot schema, whatever its kind. */
interface Rule {
  readonly type: string;
  readonly pipe?: readonly Rule[];
  readonly requirement?: unknown;
  readonly wrapped?: Rule;
  readonly entries?: Readonly<Record<string, Rule>>;
  readonly item?: Rule;
  readonly options?: readonly unknown[];
  readonly literal?: unknown;
  readonly key?: string;
  readonly getter?: (value: unknown) => Rule;
}

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

/** `loop[3].style` */
export function fieldName(path: readonly Key[]): string {
  const name = path
    .map((key) =>
      typeof key === "number" ? `[${key}]` : /^[\w-]+$/.test(key) ? `.${key}` : `[${JSON.stringify(key)}]`,
    )
    .join("")
    .replace(/^\./, "");
  return name.length > 200 ? `${name.slice(0, 200)}…` : name;
}

/** What the field at this path may hold; null where the schema does not know the field. */
export function ruleInWords(schema: v.GenericSchema, value: unknown, path: readonly Key[]): string | null {
  let rule: Rule | null = schema as unknown as Rule;
  let here = value;
  for (const key of path) {
    rule = rule && ruleOf(rule, here, key);
    here = isObject(here) || Array.isArray(here) ? (here as Record<Key, unknown>)[key] : undefined;
  }
  return rule && inWords(resolved(rule, here));
}

/** Paths of the fields that the schema does not know, in the order of the value. */
export function unknownFields(schema: v.GenericSchema, value: unknown): string[] {
  const unknown: string[] = [];
  const visit = (rule: Rule, here: unknown, path: Key[]): void => {
    const { entries, item } = resolved(rule, here);
    if (item && Array.isArray(here)) here.forEach((one, index) => void visit(item, one, [...path, index]));
    if (!entries || !isObject(here)) return;
    for (const key of Object.keys(here)) {
      const known = Object.hasOwn(entries, key) ? entries[key] : undefined;
      if (known) visit(known, here[key], [...path, key]);
      else unknown.push(fieldName([...path, key]));
    }
  };
  visit(schema as unknown as Rule, value, []);
  return unknown;
}

/** The value with the fields alone that the schema knows; what it gives no shape to stays as it is. */
export function knownFields(schema: v.GenericSchema, value: unknown): unknown {
  const visit = (rule: Rule, here: unknown): unknown => {
    const own = shapeOf(resolved(rule, here));
    if (Array.isArray(here)) return own.item ? here.map((one) => visit(own.item!, one)) : here;
    if (!isObject(here) || !own.entries) return here;
    const { entries } = own;
    return Object.fromEntries(
      Object.entries(here).flatMap(([key, inner]) =>
        Object.hasOwn(entries, key) ? [[key, visit(entries[key]!, inner)]] : [],
      ),
    );
  };
  return visit(schema as unknown as Rule, value);
}

/** Of several kinds the one with fields: only an object asks for it. */
const shapeOf = (rule: Rule): Rule =>
  rule.type === "union" ? ((rule.options as Rule[]).find(({ entries }) => entries) ?? rule) : rule;

/** The schema that decides for this very value: wrappers taken off, one of several kinds chosen. */
function resolved(rule: Rule, value: unknown): Rule {
  if (rule.wrapped) return resolved(rule.wrapped, value);
  if (rule.getter) return resolved(rule.getter(value), value);
  if (rule.type === "variant" && isObject(value)) {
    const kind = value[rule.key!];
    const chosen = (rule.options as Rule[]).find((option) => option.entries?.[rule.key!]?.literal === kind);
    return chosen ?? rule;
  }
  return rule;
}

function ruleOf(rule: Rule, value: unknown, key: Key): Rule | null {
  const own = resolved(rule, value);
  if (own.type === "variant" && key === own.key) return { type: "picklist", options: kinds(own) };
  if (own.item) return own.item;
  return own.entries && Object.hasOwn(own.entries, key) ? own.entries[key]! : null;
}

const kinds = (variant: Rule) => (variant.options as Rule[]).map((option) => option.entries![variant.key!]!.literal);

function inWords(rule: Rule): string {
  switch (rule.type) {
    case "picklist":
      return `one of ${rule.options!.join(", ")}`;
    case "literal":
      return `'${rule.literal}'`;
    case "union":
      return (rule.options as Rule[]).map(inWords).join(", or ");
    case "boolean":
      return "true or false";
    case "string":
      return `a text${bounds(rule, " of", "characters")}`;
    case "number":
      return `${steps(rule).some((step) => step.type === "integer") ? "a whole number" : "a number"}${bounds(rule, "", "")}`;
    case "array":
      return `a list${bounds(rule, " of", "entries")}`;
    default:
      return "an object in braces";
  }
}

/** The checks of a pipe; a pipe may begin with another. */
const steps = (rule: Rule): readonly Rule[] =>
  rule.pipe?.flatMap((step, index) => (index === 0 ? steps(step) : step)) ?? [];

function bounds(rule: Rule, of: string, what: string): string {
  const limit = (type: string) => steps(rule).find((step) => step.type === type)?.requirement as number | undefined;
  const words = [
    ["gt_value", "above"],
    ["min_value", "from"],
    ["max_value", limit("min_value") === undefined ? "and at most" : "to"],
    ["min_length", "at least"],
    ["max_length", limit("min_length") === undefined ? "at most" : "and at most"],
  ]
    .map(([type, word]) => (limit(type!) === undefined ? "" : `${word} ${limit(type!)}`))
    .filter((word) => word !== "");
  return words.length > 0 ? [of, words.join(" "), what].join(" ").replace(/ +/g, " ").trimEnd() : "";
}

/** What arrived, short enough for a sentence. */
export function inShort(value: unknown): string {
  if (value === undefined) return "nothing";
  if (typeof value === "string") return `'${value.length > 40 ? `${value.slice(0, 40)}…` : value}'`;
  if (Array.isArray(value)) return value.length === 1 ? "a list of 1 entry" : `a list of ${value.length} entries`;
  return isObject(value) ? "an object" : String(value);
}
