/**
 * What the load is taken to draw when keyed, before measuring.
 */
import type { Job } from "../job/job.ts";
import type { Amps } from "../units.ts";
import { unknownTransmitAmps } from "./prior.ts";

export const expectedTransmitAmps = (job: Job): Amps => job.load.transmitAmps ?? unknownTransmitAmps.median;
