/** Everything that takes longer than a keystroke, off the page: folders, logs, diagnoses, traces. */
import { expose } from "comlink";
import { keepLog } from "../storage/logs.ts";
import { openFolder, packFolder } from "./folder.ts";

const analyst = { keepLog, openFolder, packFolder };
export type Analyst = typeof analyst;

expose(analyst);
