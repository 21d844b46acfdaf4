/**
 * Circuits to start from. Sizes and lengths are guesses (marked as such, so the analysis allows for it) until
 * somebody writes down what is really there.
 */
import type { Job, LoopItem, Wire } from "../../analysis/index.ts";

export interface ReadyMadeLoop {
  readonly key: string;
  readonly name: string;
  readonly remark: string;
  readonly setting: "vehicle" | "boat";
  readonly loop: readonly LoopItem[];
}

const guessedWire = (id: string, awg: number, metres: number): Wire => ({
  part: "wire",
  id,
  awg,
  metres,
  unknown: ["size", "length"],
});
const point = (name: string): LoopItem => ({ point: name });
const joint = (
  id: string,
  style: "battery-post" | "ring-lug" | "plug" | "splice" | "ground-stud" | "strap" | "screw-terminal",
): LoopItem => ({
  part: "connection",
  id,
  style,
});
const fuse = (id: string, metresFromBattery = 0.2): LoopItem => ({
  part: "fuse",
  id,
  style: "blade",
  ratingAmps: 20,
  metresFromBattery,
});
const load: readonly LoopItem[] = [
  joint("plug-positive", "plug"),
  point("load+"),
  { part: "load" },
  point("load-"),
  joint("plug-negative", "plug"),
];

export const readyMadeLoops: readonly ReadyMadeLoop[] = [
  {
    key: "fused-pair",
    name: "Fused pair to the battery",
    remark: "Both leads run to the battery, fuse at the post",
    setting: "vehicle",
    loop: [
      point("battery+"),
      joint("battery-lug", "ring-lug"),
      fuse("main-fuse"),
      point("fuse-out"),
      guessedWire("feed", 10, 4),
      ...load,
      guessedWire("return-lead", 10, 4),
      joint("battery-negative-lug", "ring-lug"),
      point("battery-"),
    ],
  },
  {
    key: "chassis-return",
    name: "Chassis return",
    remark: "Fused feed from the battery, ground through the body",
    setting: "vehicle",
    loop: [
      point("battery+"),
      joint("battery-lug", "ring-lug"),
      fuse("main-fuse"),
      point("fuse-out"),
      guessedWire("feed", 10, 4),
      ...load,
      guessedWire("ground-lead", 10, 0.6),
      joint("ground-stud", "ground-stud"),
      point("body-at-load"),
      { part: "chassis", id: "body" },
      joint("battery-strap", "strap"),
      point("battery-"),
    ],
  },
  {
    key: "through-switch",
    name: "Through a switch or relay",
    remark: "Feed passes a switch, relay or breaker on its way",
    setting: "vehicle",
    loop: [
      point("battery+"),
      joint("battery-lug", "ring-lug"),
      fuse("main-fuse"),
      point("fuse-out"),
      guessedWire("feed-to-switch", 10, 2),
      point("switch-in"),
      { part: "switch", id: "feed-switch" },
      point("switch-out"),
      guessedWire("feed-to-load", 10, 2.5),
      ...load,
      guessedWire("ground-lead", 10, 0.6),
      joint("ground-stud", "ground-stud"),
      point("body-at-load"),
      { part: "chassis", id: "body" },
      joint("battery-strap", "strap"),
      point("battery-"),
    ],
  },
  {
    key: "boat-bus",
    name: "Boat with bus bars",
    remark: "Battery to a panel with bus bars, two wires to the set",
    setting: "boat",
    loop: [
      point("battery+"),
      joint("battery-clamp", "battery-post"),
      { part: "fuse", id: "main-fuse", style: "bolt-down", ratingAmps: 60, metresFromBattery: 0.2 },
      guessedWire("main-feed", 6, 3),
      { part: "switch", id: "battery-switch" },
      joint("bus-positive", "screw-terminal"),
      point("bus+"),
      fuse("branch-fuse", 3.5),
      point("branch-fuse-out"),
      guessedWire("feed", 10, 3),
      ...load,
      guessedWire("return-lead", 10, 3),
      joint("bus-negative", "screw-terminal"),
      point("bus-"),
      guessedWire("main-return", 6, 3),
      joint("battery-negative-clamp", "battery-post"),
      point("battery-"),
    ],
  },
  {
    key: "trailer-run",
    name: "Long trailer run",
    remark: "Through the coupling plug to a set at the far end",
    setting: "vehicle",
    loop: [
      point("battery+"),
      joint("battery-lug", "ring-lug"),
      fuse("main-fuse"),
      point("fuse-out"),
      guessedWire("feed-in-front", 8, 5),
      joint("coupling-positive", "plug"),
      point("coupling+"),
      guessedWire("feed-behind", 8, 7),
      ...load,
      guessedWire("return-behind", 8, 7),
      point("coupling-"),
      joint("coupling-negative", "plug"),
      guessedWire("return-in-front", 8, 5),
      joint("battery-negative-lug", "ring-lug"),
      point("battery-"),
    ],
  },
  {
    key: "blank",
    name: "Blank",
    remark: "Battery and set only: add every part yourself",
    setting: "vehicle",
    loop: [
      point("battery+"),
      guessedWire("feed", 10, 3),
      point("load+"),
      { part: "load" },
      point("load-"),
      guessedWire("return-lead", 10, 3),
      point("battery-"),
    ],
  },
];

/** A job that can take its first reading at once: nothing about it is known for sure. */
export function jobFromLoop({ loop, setting }: ReadyMadeLoop, title: string): Job {
  return {
    format: "job/1",
    title,
    setting,
    load: {},
    limits: {},
    battery: {},
    source: {},
    loop: structuredClone(loop) as LoopItem[],
    meters: [usualMeter()],
    recordings: [],
    readings: [],
    rounds: [],
  };
}

/** A middling handheld meter, until the technician writes in what the manual says; common practice. */
function usualMeter(): Job["meters"][number] {
  return {
    id: "m1",
    label: "handheld meter",
    volts: { percentOfReading: 0.5, counts: 3, resolution: 0.01 },
    amps: { percentOfReading: 2, counts: 5, resolution: 0.1 },
  };
}
