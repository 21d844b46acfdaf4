/** The one door for api and web. */
export * from "./diagnosis.ts";
export type * from "./job/job.ts";
export { Problem, type ProblemPlace } from "./problem.ts";
