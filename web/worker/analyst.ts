/** The worker that diagnoses. It has nothing else to do, so that a long diagnosis holds up no log and no trace, and can be stopped. */
import { expose } from "comlink";
import { checkGivenRecord } from "../record/check-record.ts";
import { makeRecord, previewRecord } from "../record/make-record.ts";
import { diagnoseJob } from "./diagnose-job.ts";

const analyst = { diagnoseJob, makeRecord, previewRecord, checkGivenRecord };
export type Analyst = typeof analyst;

expose(analyst);
