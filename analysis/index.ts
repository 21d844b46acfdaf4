/** The one door for api and web. */

export { checkRecord, type RecordCheck, type RecordMeans } from "./check-record.ts";
export { type DiagnoseOptions, diagnose, diagnoseFiles, diagnoseInFull, type FullDiagnosis } from "./diagnose.ts";
export * from "./diagnosis.ts";
export { DiagnosisSchema } from "./diagnosis-schema.ts";
export { isPdf, jobZip, type OpenedRecord, openRecord } from "./document/carried-job.ts";
export { type Signature, signatureField, signedContent } from "./document/hand-signature.ts";
export { joined } from "./document/joined-bytes.ts";
export { type PhotoFacts, photoFacts, withoutPlace } from "./document/photo.ts";
export {
  BrokenVolts,
  keyedState,
  type Level,
  measuredDrops,
  type Slot,
  type Staircase,
  slotsOf,
  spanOf,
  staircase,
} from "./document/profile-shape.ts";
export type { RecordPage } from "./document/record-html.ts";
export { papers, type RecordStamp, recordUnits } from "./document/record-model.ts";
export {
  type FitsSignature,
  type ShopKey,
  type Sign,
  withoutSignature,
  withSignature,
} from "./document/shop-signature.ts";
export {
  type DiagnosedJob,
  type PartTrend,
  surelyRises,
  type VehicleHistory,
  type Visit,
  vehicleHistory,
} from "./document/vehicle-history.ts";
export { type SharedJob, withoutCustomer } from "./document/without-customer.ts";
export { type Caution, cautionsForReading, cautionsForRepair } from "./finding/caution.ts";
export { checkProtection, mechanicalChecklist } from "./finding/protection.ts";
export type * from "./job/job.ts";
export { checkJob, JobSchema, parseJob } from "./job/job.ts";
export type { Meter } from "./job/meter.ts";
export { connectionStyles, fuseStyles } from "./job/part-styles.ts";
export { changedItem, jobInRound, roundsOf } from "./job/round.ts";
export { isLoad, isPart, isPoint, legOf, partsOf, pointsOf, routeBetween } from "./job/route.ts";
export { openZip, type ZippedFolder, zipLimits } from "./job/zipped-folder.ts";
export { type Fit, fitOf, fittingRecipe } from "./live/fitting-recipe.ts";
export { type Captured, type CaptureWish, GuidedCapture, type Waiting } from "./live/guided-capture.ts";
export type { Sight } from "./live/keying-watch.ts";
export { LevelWatch, type SettledLevel } from "./live/level-watch.ts";
export { type Proof, proofOf } from "./live/proof.ts";
export { createLogReader, type LogReader, readLog } from "./log/log-reader.ts";
export type * from "./log/sample.ts";
export { dropLimitVolts, expectedDropVolts, isUndersized } from "./loop/expected-drop.ts";
export { expectedParts } from "./loop/expected-part.ts";
export { smallestConductor } from "./loop/smallest-conductor.ts";
export {
  documentOf,
  filesOfJob,
  makeRecordHtml,
  makeRecordPage,
  makeRecordPdf,
  makeSignedRecordPdf,
  photosOfJob,
  type RecordChoice,
  type Sha256,
  stampOf,
} from "./make-record.ts";
export { causeWords, engineWords, kindWords, legWords, pointWords, radioWords, verdictWords } from "./plain-words.ts";
export { Problem, type ProblemPlace } from "./problem.ts";
export * from "./round-for-print.ts";
export { cutLogs, type ReadLog } from "./state/cut-log.ts";
export type { EventKind, LogEvent } from "./state/plateau.ts";
export { type BuiltInRecipe, builtInRecipes } from "./teach/built-in-recipes.ts";
export {
  checkRecipe,
  type MeterUnit,
  type Reading,
  type Recipe,
  RecipeSchema,
  readStream,
  StreamReader,
} from "./teach/recipe.ts";
export { type Taught, teach } from "./teach/teach.ts";
export type { TeachInput } from "./teach/teach-input.ts";
export type { UncertainQuantity } from "./uncertain.ts";
