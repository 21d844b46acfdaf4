/** A thread that reads logs beside this one, and hands over what it read without copying it. */
import { join } from "node:path";
import { Worker } from "node:worker_threads";
import { Problem, type ProblemPlace, type ReadLog } from "../analysis/index.ts";
import type { LogFile } from "./read-log.ts";

/** What a helper is asked for. */
export interface LogErrand {
  readonly log: LogFile;
  /** where the file lies on disk */
  readonly place: string;
}

/** What it says of it: bytes as it reads them, then one of the others. */
export type HelperWord =
  | { readonly took: number }
  | { readonly logs: ReadLog[] }
  | { readonly problem: { readonly reason: string; readonly place: ProblemPlace } };

export class LogHelper {
  readonly #worker = new Worker(join(import.meta.dirname, "run.mjs"), { argv: ["api/helping-thread.ts"] });

  constructor() {
    // Whatever goes wrong is heard by who waits for an answer; a helper without an errand keeps no process alive.
    this.#worker.on("error", () => {});
    this.#worker.unref();
  }

  /**
   * @param took told of the bytes read, as they are
   * @throws {Problem} what is wrong with the file; another error where the helper itself failed
   */
  read(log: LogFile, place: string, took: (bytes: number) => void): Promise<ReadLog[]> {
    const worker = this.#worker;
    return new Promise<ReadLog[]>((resolve, reject) => {
      const settle = (finish: () => void) => {
        worker.off("message", said).off("error", reject).off("exit", left);
        worker.unref();
        finish();
      };
      const said = (word: HelperWord) => {
        if ("took" in word) took(word.took);
        else if ("logs" in word) settle(() => resolve(word.logs));
        else settle(() => reject(new Problem(word.problem.reason, word.problem.place)));
      };
      const left = () => settle(() => reject(new Error("a helper ended by itself")));
      worker.on("message", said).on("error", reject).on("exit", left);
      worker.ref();
      const errand: LogErrand = { log, place };
      worker.postMessage(errand);
    });
  }

  /** It may still keep what was compiled of its program, for the next one. */
  end(): void {
    this.#worker.postMessage(null);
  }
}
