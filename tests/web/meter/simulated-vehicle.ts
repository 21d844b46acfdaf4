/**
 * A vehicle with a two-way radio, as a meter clipped on anywhere would see it: volts at every point of a job's loop,
 * receiving and keyed, engine off and running, with one bad part. Invented: sound joints 1 mΩ, wires 2 mΩ, a body
 * 0.5 mΩ, charging 1.6 V above the battery at rest.
 */
import type { Page } from "playwright-core";

interface LoopItem {
  readonly point?: string;
  readonly part?: string;
  readonly id?: string;
}

const soundOhms: Readonly<Record<string, number>> = { wire: 0.002, chassis: 0.0005 };

export interface Vehicle {
  volts(from: string, to: string, keyed: boolean, running?: boolean): number;
}

export function vehicle(
  loop: readonly LoopItem[],
  bad: string,
  badOhms: number,
  idleAmps: number,
  keyedAmps: number,
): Vehicle {
  const ohmsOf = ({ part, id }: LoopItem) => (id === bad ? badOhms : (soundOhms[part!] ?? 0.001));
  const potentials = (keyed: boolean, running: boolean): Map<string, number> => {
    const amps = keyed ? keyedAmps : idleAmps;
    const found = new Map<string, number>();
    const load = loop.findIndex(({ part }) => part === "load");
    let volts = (keyed ? 12.45 : 12.6) + (running ? 1.6 : 0);
    for (const item of loop.slice(0, load)) {
      if (item.point) found.set(item.point, volts);
      else volts -= amps * ohmsOf(item);
    }
    volts = 0;
    for (const item of loop.slice(load + 1).toReversed()) {
      if (item.point) found.set(item.point, volts);
      else volts += amps * ohmsOf(item);
    }
    return found;
  };
  return {
    volts(from, to, keyed, running = false) {
      const at = potentials(keyed, running);
      return at.get(from)! - at.get(to)!;
    },
  };
}

/** The loop of the only job that the page's browser keeps. */
export const keptJob = <Answer>(page: Page, pick: string): Promise<Answer> =>
  page.evaluate(`new Promise((done, failed) => {
    const asked = indexedDB.open("loopwalk");
    asked.onerror = () => failed(asked.error);
    asked.onsuccess = () => {
      const jobs = asked.result.transaction("jobs").objectStore("jobs").getAll();
      jobs.onsuccess = () => { asked.result.close(); done((${pick})(jobs.result)); };
    };
  })`);
