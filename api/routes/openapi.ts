/** GET /api/openapi.json: the paths of this server, described in OpenAPI 3.1 from the schemas that check the bodies. */
import { Hono } from "hono";
import { DiagnosisSchema } from "../../analysis/index.ts";
import { KeptDocumentSchema } from "../kept-document.ts";
import { openapiDocument } from "../openapi/document.ts";
import type { Paths } from "../openapi/operation.ts";
import { programVersion } from "../program-version.ts";
import { JobListSchema } from "./jobs.ts";

const named = { Job: KeptDocumentSchema, Diagnosis: DiagnosisSchema, JobList: JobListSchema };

export function openapi(paths: Paths) {
  const document = openapiDocument(paths, programVersion(), named);
  return new Hono().get("/", (c) => c.json(document, 200, { "cache-control": "no-cache" }));
}
