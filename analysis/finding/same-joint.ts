/**
 * Which joints the readings at hand cannot tell apart: those share one finding.
 */
import { type Probe, type RoundSetting, sees } from "../inference/round-setting.ts";
import { type QuietLog, quietLogs } from "../inference/shift-evidence.ts";
import type { Reading } from "../reading/reading.ts";

/**
 * Two joints are apart where some reading has one of them between its probes and not the other, and a fault of the
 * size found would move it by more than its doubt.
 */
const apartDeviations = 1;

/**
 * @param joints indices among the parts
 * @param lostVolts the drop at transmit that a fault there is taken to cause
 * @param disturbed whether the fault shows only in readings taken while the contact had shifted
 * @returns the joints in groups, each in the order of the loop
 */
export function groupJoints(
  setting: RoundSetting,
  joints: readonly number[],
  lostVolts: number,
  disturbed: boolean,
): number[][] {
  const groups: number[][] = [];
  const quiet = disturbed ? quietLogs(setting) : [];
  const apart = (a: number, b: number) =>
    Math.sqrt(separation(setting, a, b, lostVolts, disturbed) + quietSeparation(quiet, a, b));
  for (const joint of joints) {
    const group = groups.find(([first]) => apart(first!, joint) < apartDeviations);
    if (group === undefined) groups.push([joint]);
    else group.push(joint);
  }
  return groups;
}

/** Readings that tell the two apart, each in its own doubts: the sum of their squares. */
function separation(setting: RoundSetting, a: number, b: number, lostVolts: number, disturbed: boolean): number {
  let squares = 0;
  for (const { reading, probe, noise } of setting.prepared) {
    if (probe.clamp || (disturbed && !reading.disturbed)) continue;
    if (effect(setting, a, reading, probe) === effect(setting, b, reading, probe)) continue;
    // Idle current is a small part of the keyed one, and so is what a joint drops at it.
    const share = reading.radio === "transmit" || reading.drawnBy === "test-load" ? 1 : idleShare(setting);
    const doubt = Math.hypot(noise, reading.counts, reading.gain * (Math.abs(reading.value) + lostVolts));
    squares += ((lostVolts * share) / doubt) ** 2;
  }
  return squares;
}

/** The same of logs of another moment that stayed quiet: each speaks against the joint in its sight, and not against the other. */
const quietSeparation = (quiet: readonly QuietLog[], a: number, b: number): number =>
  quiet.reduce((sum, { probe, logShare }) => sum + (sees(probe, a) === sees(probe, b) ? 0 : -2 * logShare), 0);

/**
 * Which way a fault at a part moves a reading: up between the probes, down elsewhere for one that sees the source
 * through the load, not at all where a jumper lies round it.
 */
function effect(setting: RoundSetting, part: number, reading: Reading, probe: Probe): number {
  if (reading.bypassed.includes(setting.expected[part]!.id)) return 0;
  const between = part >= probe.first && part < probe.last;
  if (probe.throughLoad) return between ? 0 : -1;
  return between ? 1 : 0;
}

const idleShare = ({ job }: RoundSetting): number =>
  Math.min((job.load.idleAmps ?? 0.7) / (job.load.transmitAmps ?? 9), 1);
