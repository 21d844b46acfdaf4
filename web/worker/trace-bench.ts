/** Traces in the worker: a pyramid a recording, asked for windows at every zoom. */

import { transfer } from "comlink";
import type { Recording } from "../../analysis/index.ts";
import { readFile } from "./log-bench.ts";
import { firstAtOrAfter, Pyramid, type TraceWindow } from "./pyramid.ts";

export interface TraceSource {
  readonly sha256: string;
  readonly recording: Recording;
}

export interface TraceOverview {
  readonly lastSeconds: number;
  readonly startEpochSeconds: number | null;
  readonly samples: number;
  readonly least: number;
  readonly most: number;
}

const pyramids = new Map<string, Promise<{ pyramid: Pyramid; overview: TraceOverview }>>();

function opened(source: TraceSource): Promise<{ pyramid: Pyramid; overview: TraceOverview }> {
  const { sha256, recording } = source;
  const { round, meter, from, to, through, engine, radio, ...reading } = recording;
  const key = JSON.stringify([sha256, reading]);
  const found = pyramids.get(key) ?? build(source);
  pyramids.set(key, found);
  found.catch(() => pyramids.delete(key));
  return found;
}

async function build({ sha256, recording }: TraceSource) {
  const [log] = await readFile(sha256, [recording]);
  const { seconds, values, intervalSeconds, startEpochSeconds } = log!.samples;
  const pyramid = new Pyramid(seconds, values, intervalSeconds);
  const { least, most } = pyramid.extremes(0, values.length);
  return {
    pyramid,
    overview: { lastSeconds: seconds.at(-1) ?? 0, startEpochSeconds, samples: values.length, least, most },
  };
}

export async function openTrace(source: TraceSource): Promise<TraceOverview> {
  return (await opened(source)).overview;
}

/** What is visible of one trace, in seconds of its own log. */
export async function traceWindow(
  source: TraceSource,
  from: number,
  to: number,
  buckets: number,
): Promise<TraceWindow> {
  const window = (await opened(source)).pyramid.window(from, to, buckets);
  return transfer(window, [window.seconds.buffer as ArrayBuffer, window.values.buffer as ArrayBuffer]);
}

/** A step of more than this share of all amps between two samples is an edge: what lies between was never there. */
const edgeShare = 0.1;

/**
 * Pairs of volts and amps taken at one time by two logs, for the load line: at most `most` moments, evenly spread.
 * @param shiftSeconds moment on the amps log's clock minus the same on the volts log's
 */
export async function pairs(
  volts: TraceSource,
  amps: TraceSource,
  shiftSeconds: number,
  most: number,
): Promise<Float64Array> {
  const [a, b] = await Promise.all([opened(volts), opened(amps)]);
  const found: number[] = [];
  const step = Math.max(1, Math.floor(a.pyramid.seconds.length / most));
  const edge = (b.overview.most - b.overview.least) * edgeShare;
  const nearby = 2 * Math.max(typicalStep(a.pyramid.seconds), typicalStep(b.pyramid.seconds));
  for (let index = 0; index < a.pyramid.seconds.length; index += step) {
    const moment = a.pyramid.seconds[index]! + shiftSeconds;
    const other = firstAtOrAfter(b.pyramid.seconds, moment);
    const before = b.pyramid.seconds[other - 1];
    const after = b.pyramid.seconds[other];
    if (before === undefined || after === undefined || after - before > nearby) continue;
    if (Math.abs(b.pyramid.valueAt(other) - b.pyramid.valueAt(other - 1)) > edge) continue;
    const share = after === before ? 0 : (moment - before) / (after - before);
    found.push(a.pyramid.valueAt(index), b.pyramid.valueAt(other - 1) * (1 - share) + b.pyramid.valueAt(other) * share);
  }
  return Float64Array.from(found);
}

const typicalStep = (seconds: Float64Array): number =>
  seconds.length > 1 ? (seconds.at(-1)! - seconds[0]!) / (seconds.length - 1) : 0;
