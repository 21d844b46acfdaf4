/** The browser's own store for meters: recipes that were taught here or taken over, and live logs while they grow. */
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Recipe } from "../../analysis/index.ts";
import type { SerialSettings } from "./serial-stream.ts";

/** How a meter is reached; what stands here goes along with its recipe. */
export interface MeterLink {
  readonly kind: "bluetooth" | "serial";
  readonly services?: readonly string[];
  readonly characteristic?: string;
  readonly serial?: SerialSettings;
}

export interface KeptMeter {
  readonly id: string;
  readonly label: string;
  readonly recipe: Recipe;
  readonly link?: MeterLink;
  readonly keptMilliseconds: number;
}

/** One meter at one place, from when its probes went there. */
export interface LiveLog {
  readonly id: string;
  readonly jobId: string;
  readonly file: string;
  readonly round: string;
  readonly quantity: "volts" | "amps";
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
  readonly meter?: string;
  /** what the engine did all the while, where a reading was taken and nothing spoke against it */
  readonly engine?: "off" | "running";
  readonly startEpochSeconds: number;
  /** marks that were tapped, seconds from its start */
  readonly marks: readonly { readonly seconds: number; readonly label: string }[];
}

interface Schema extends DBSchema {
  meters: { key: string; value: KeptMeter };
  logs: { key: string; value: LiveLog };
  /** text of a log, piece by piece, under its id and the piece's number */
  pieces: { key: [string, number]; value: string };
  /** the same for bytes */
  bytes: { key: [string, number]; value: string };
}

let opened: Promise<IDBPDatabase<Schema>> | undefined;

export function meterDatabase(): Promise<IDBPDatabase<Schema>> {
  opened ??= openDB<Schema>("loopwalk-meters", 1, {
    upgrade(db) {
      db.createObjectStore("meters", { keyPath: "id" });
      db.createObjectStore("logs", { keyPath: "id" });
      db.createObjectStore("pieces");
      db.createObjectStore("bytes");
    },
    terminated() {
      opened = undefined;
    },
  });
  return opened;
}
