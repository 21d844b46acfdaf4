/** The one door for api and web. */
export * from "./diagnosis.ts";
export type * from "./job/job.ts";
export { checkJob, parseJob } from "./job/job.ts";
export { connectionStyles, fuseStyles } from "./job/part-styles.ts";
export { isLoad, isPart, isPoint, legOf, partsOf, pointsOf, routeBetween } from "./job/route.ts";
export { dropLimitVolts, expectedDropVolts, isUndersized } from "./loop/expected-drop.ts";
export { expectedParts } from "./loop/expected-part.ts";
export { smallestConductor } from "./loop/smallest-conductor.ts";
export { Problem, type ProblemPlace } from "./problem.ts";
