/** The description of the server: complete, well formed, and true of what a diagnosis looks like. */

import * as v from "valibot";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { DiagnosisSchema, diagnoseFiles } from "../../../analysis/index.ts";
import { createApp } from "../../../api/app.ts";
import { type KeptApp, keptApp, sampleFiles, sampleNames } from "../../fixtures/kept-app.ts";

type Described = {
  openapi: string;
  paths: Record<string, Record<string, unknown>>;
  components: { schemas: Record<string, unknown> };
};

describe("GET /api/openapi.json", () => {
  let app: KeptApp;
  let described: Described;
  beforeAll(async () => {
    app = await keptApp();
    described = (await (await app.ask("GET", "/api/openapi.json")).json()) as Described;
  });
  afterAll(() => app.end());

  it("describes every route that there is, and none that is not", () => {
    const routes = createApp({ webRoot: app.folder, services: app.services }).routes;
    const served = routes
      .filter(({ method, path }) => method !== "ALL" && path.startsWith("/api/"))
      .map(({ method, path }) => `${method.toLowerCase()} ${path.replaceAll(/:(\w+)/g, "{$1}").replace(/\/$/, "")}`);
    const told = Object.entries(described.paths).flatMap(([path, item]) =>
      Object.keys(item)
        .filter((method) => method !== "parameters")
        .map((method) => `${method} ${path}`),
    );
    expect(told.sort()).toEqual([...new Set(served)].sort());
  });

  it("is OpenAPI 3.1 whose references all lead somewhere", () => {
    expect(described.openapi).toBe("3.1.0");
    const references = [...JSON.stringify(described).matchAll(/"\$ref":"#\/components\/schemas\/(\w+)"/g)].map(
      ([, name]) => name!,
    );
    expect(new Set(references)).toEqual(new Set(["Job", "Diagnosis", "JobList", "Problem"]));
    for (const name of references) expect(described.components.schemas[name]).toMatchObject({ type: "object" });
    for (const item of Object.values(described.paths)) {
      for (const [method, operation] of Object.entries(item)) {
        if (method === "parameters") continue;
        expect(operation).toMatchObject({
          summary: expect.stringMatching(/\w/),
          responses: { default: expect.anything() },
        });
      }
    }
  });

  it("describes a loop's points as well as its parts", () => {
    const loop = JSON.stringify(
      (described.components.schemas.Job as { properties: { loop: unknown } }).properties.loop,
    );
    expect(loop).toContain('"point"');
    expect(loop).toContain('"ground-stud"');
  });
});

describe("the schema of a diagnosis", () => {
  it.each(sampleNames().slice(0, 4))("fits the diagnosis of %s", (name) => {
    const diagnosis = JSON.parse(JSON.stringify(diagnoseFiles(name, sampleFiles(name))));
    expect(v.safeParse(DiagnosisSchema, diagnosis).issues).toBeUndefined();
  });
});
