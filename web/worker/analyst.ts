/** The worker that diagnoses. It has nothing else to do, so that a long diagnosis holds up no log and no trace, and can be stopped. */
import { expose } from "comlink";
import { diagnoseJob } from "./diagnose-job.ts";

const analyst = { diagnoseJob };
export type Analyst = typeof analyst;

expose(analyst);
