/** Everything that takes longer than a keystroke, off the page: folders, logs, diagnoses, traces. */
import { expose } from "comlink";
import { keepLog } from "../storage/logs.ts";
import { diagnoseJob } from "./diagnose-job.ts";
import { openFolder, packFolder } from "./folder.ts";
import { accountOf } from "./log-bench.ts";
import { openTrace, pairs, traceWindow } from "./trace-bench.ts";

const analyst = { keepLog, openFolder, packFolder, accountOf, diagnoseJob, openTrace, traceWindow, pairs };
export type Analyst = typeof analyst;

expose(analyst);
