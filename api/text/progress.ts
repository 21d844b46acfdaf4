/** Progress on one line of a terminal, once the work has taken longer than a second; gone when it is done. */
import type { WriteStream } from "node:tty";
import { cell } from "./page.ts";

const patienceMilliseconds = 1000;
const betweenMilliseconds = 100;
const clearLine = "\r\x1b[K";

export interface Progress {
  /** share from 0 to 1 */
  show(share: number, what: string): void;
  end(): void;
}

export function startProgress(terminal: WriteStream | NodeJS.WriteStream, name: string): Progress {
  if (!terminal.isTTY) return { show: () => {}, end: () => {} };
  let next = performance.now() + patienceMilliseconds;
  let shown = false;
  const clear = () => void (shown && terminal.write(clearLine));
  process.once("exit", clear);
  return {
    show(share, what) {
      if (performance.now() < next) return;
      next = performance.now() + betweenMilliseconds;
      shown = true;
      const percent = `${Math.floor(100 * share)}`.padStart(3);
      terminal.write(`\r${cell(`${percent} %  ${name}: ${what}`, Math.min(terminal.columns ?? 80, 80) - 1)}`);
    },
    end() {
      clear();
      shown = false;
      process.off("exit", clear);
    },
  };
}
