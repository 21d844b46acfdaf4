/** The worker that handles files: job folders in and out, logs kept and read, windows of their traces. */
import { expose } from "comlink";
import { teach } from "../../analysis/index.ts";
import { keepLog } from "../storage/logs.ts";
import { openFolder, packFolder } from "./folder.ts";
import { accountOf } from "./log-bench.ts";
import { openTrace, pairs, traceWindow } from "./trace-bench.ts";

const clerk = { keepLog, openFolder, packFolder, accountOf, openTrace, traceWindow, pairs, teach };
export type Clerk = typeof clerk;

expose(clerk);
