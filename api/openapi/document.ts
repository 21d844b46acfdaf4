/** The OpenAPI 3.1 document of a set of described paths. Source: OpenAPI Specification 3.1.0, section 4.8 (from memory). */
import { toJsonSchema } from "@valibot/to-json-schema";
import type * as v from "valibot";
import { type Answer, type Method, type Operation, type Paths, ProblemSchema } from "./operation.ts";

type Json = Record<string, unknown>;

export function openapiDocument(paths: Paths, version: string, named: Readonly<Record<string, v.GenericSchema>>): Json {
  const components: Readonly<Record<string, v.GenericSchema>> = { ...named, Problem: ProblemSchema };
  const names = new Map(Object.entries(components).map(([name, schema]) => [schema, name]));
  const schemaOf = (schema: v.GenericSchema): unknown => {
    const name = names.get(schema);
    return name === undefined ? jsonSchema(schema) : { $ref: `#/components/schemas/${name}` };
  };
  return {
    openapi: "3.1.0",
    info: {
      title: "Loopwalk",
      version,
      description: "Jobs and meter logs of 12 V installs, kept, shared between devices and diagnosed.",
      license: { name: "MIT", identifier: "MIT" },
    },
    paths: Object.fromEntries(
      Object.entries(paths).map(([path, operations]) => [path, pathItem(path, operations, schemaOf)]),
    ),
    components: {
      schemas: Object.fromEntries([...names].map(([schema, name]) => [name, jsonSchema(schema)])),
      securitySchemes: { session: { type: "apiKey", in: "cookie", name: "session" } },
    },
  };
}

type SchemaOf = (schema: v.GenericSchema) => unknown;

function pathItem(path: string, operations: Paths[string], schemaOf: SchemaOf): Json {
  const names = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => name!);
  const parameters = names.map((name) => ({ name, in: "path", required: true, schema: { type: "string" } }));
  const methods = Object.entries(operations) as [Method, Operation][];
  return {
    ...(parameters.length > 0 ? { parameters } : {}),
    ...Object.fromEntries(methods.map(([method, operation]) => [method, operationItem(operation, schemaOf)])),
  };
}

function operationItem(
  { summary, query, headers = {}, body, answers, problems = [] }: Operation,
  schemaOf: SchemaOf,
): Json {
  const parameters = [
    ...Object.entries(query?.entries ?? {}).map(([name, field]) => ({
      name,
      in: "query",
      schema: jsonSchema(field as v.GenericSchema),
    })),
    ...Object.entries(headers).map(([name, description]) => ({
      name,
      in: "header",
      description,
      schema: { type: "string" },
    })),
  ];
  return {
    summary,
    ...(parameters.length > 0 ? { parameters } : {}),
    ...(body ? { requestBody: { required: true, content: content(body, schemaOf) } } : {}),
    responses: {
      ...Object.fromEntries(Object.entries(answers).map(([status, answer]) => [status, answerItem(answer, schemaOf)])),
      ...Object.fromEntries(problems.map((status) => [status, problemItem("What is wrong, and where")])),
      default: problemItem("Whatever else is wrong"),
    },
  };
}

function answerItem({ words, media, schema, headers = [] }: Answer, schemaOf: SchemaOf): Json {
  return {
    description: words,
    ...(media ? { content: content({ [media]: schema ?? null }, schemaOf) } : {}),
    ...(headers.length > 0
      ? { headers: Object.fromEntries(headers.map((name) => [name, { schema: { type: "string" } }])) }
      : {}),
  };
}

const problemItem = (description: string): Json => ({
  description,
  content: { "application/problem+json": { schema: { $ref: "#/components/schemas/Problem" } } },
});

/** Bytes are an empty schema beside their media type: OpenAPI 3.1, "Considerations for File Uploads". */
const content = (byMedia: Readonly<Record<string, v.GenericSchema | null>>, schemaOf: SchemaOf): Json =>
  Object.fromEntries(
    Object.entries(byMedia).map(([media, schema]) => [media, schema ? { schema: schemaOf(schema) } : {}]),
  );

/** JSON Schema of what comes in; a loop's items, which choose their schema by what they hold, are both of them. */
export function jsonSchema(schema: v.GenericSchema): unknown {
  const { $schema: _, ...json } = toJsonSchema(schema as never, {
    typeMode: "input",
    errorMode: "ignore",
    target: "draft-2020-12",
    overrideSchema: ({ valibotSchema }) => {
      if (valibotSchema.type !== "lazy") return undefined;
      const { getter } = valibotSchema as unknown as { getter(input: unknown): v.GenericSchema };
      return { anyOf: [jsonSchema(getter({ point: "" })), jsonSchema(getter(undefined))] } as never;
    },
  }) as Json;
  return json;
}
