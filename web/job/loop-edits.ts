/** Changes to the order and the parts of a circuit. The two posts and the load with its two points stay where they belong. */
import { isLoad, isPoint, type Job, type LoopItem } from "../../analysis/index.ts";

const fixedPoints = new Set(["battery+", "battery-", "load+", "load-"]);

export const isFixed = (item: LoopItem): boolean => isLoad(item) || (isPoint(item) && fixedPoints.has(item.point));

/** Where an item lands when it is moved one place; null where it cannot go. The load with its points is passed in one step. */
export function placeAfterMove(loop: readonly LoopItem[], index: number, step: 1 | -1): number | null {
  if (isFixed(loop[index]!)) return null;
  let to = index + step;
  while (loop[to] && isFixed(loop[to]!) && to > 0 && to < loop.length - 1) to += step;
  const beyondLoad = Math.abs(to - index) > 1;
  if (to <= 0 && !beyondLoad) return null;
  if (to >= loop.length - 1 && !beyondLoad) return null;
  return beyondLoad ? to - step : to;
}

export function moveItem(loop: LoopItem[], index: number, step: 1 | -1): number {
  const to = placeAfterMove(loop, index, step);
  if (to === null) return index;
  const [item] = loop.splice(index, 1);
  loop.splice(to, 0, item!);
  return to;
}

/** A new item can stand after any but battery −, load + and the load: there nothing may come between. */
export const canAddAfter = (item: LoopItem): boolean =>
  !(isLoad(item) || (isPoint(item) && (item.point === "battery-" || item.point === "load+")));

/** What can be added, in the words it is picked by, and the item it becomes. */
export const addable: readonly {
  readonly words: string;
  readonly make: (id: string) => LoopItem;
  readonly id: string;
}[] = [
  { words: "Wire", id: "wire", make: (id) => ({ part: "wire", id, awg: 10, metres: 1, unknown: ["size", "length"] }) },
  { words: "Fuse", id: "fuse", make: (id) => ({ part: "fuse", id, style: "blade" }) },
  { words: "Test point", id: "point", make: (id) => ({ point: id }) },
  { words: "Switch", id: "switch", make: (id) => ({ part: "switch", id }) },
  { words: "Relay", id: "relay", make: (id) => ({ part: "switch", id, label: id.replaceAll("-", " ") }) },
  { words: "Circuit breaker", id: "breaker", make: (id) => ({ part: "switch", id, label: id.replaceAll("-", " ") }) },
  { words: "Ring lug", id: "lug", make: (id) => ({ part: "connection", id, style: "ring-lug" }) },
  { words: "Plug", id: "plug", make: (id) => ({ part: "connection", id, style: "plug" }) },
  { words: "Splice", id: "splice", make: (id) => ({ part: "connection", id, style: "splice" }) },
  { words: "Terminal block", id: "terminal", make: (id) => ({ part: "connection", id, style: "screw-terminal" }) },
  { words: "Bus bar", id: "bus-bar", make: (id) => ({ part: "connection", id, style: "screw-terminal" }) },
  { words: "Push-on terminal", id: "push-on", make: (id) => ({ part: "connection", id, style: "push-on" }) },
  { words: "Accessory socket", id: "socket", make: (id) => ({ part: "connection", id, style: "accessory-socket" }) },
  { words: "Battery post clamp", id: "clamp", make: (id) => ({ part: "connection", id, style: "battery-post" }) },
  { words: "Ground stud", id: "ground-stud", make: (id) => ({ part: "connection", id, style: "ground-stud" }) },
  { words: "Ground strap", id: "strap", make: (id) => ({ part: "connection", id, style: "strap" }) },
  { words: "Body or frame", id: "body", make: (id) => ({ part: "chassis", id }) },
];

export function freeName(loop: readonly LoopItem[], wanted: string): string {
  const taken = new Set(loop.map((item) => (isPoint(item) ? item.point : (item.id ?? "load"))));
  if (!taken.has(wanted)) return wanted;
  let number = 2;
  while (taken.has(`${wanted}-${number}`)) number++;
  return `${wanted}-${number}`;
}

/** What of the measurements names this item, in words: it cannot go while they do. */
export function namedBy(job: Job, item: LoopItem): number {
  const name = isPoint(item) ? item.point : item.id;
  return [...job.recordings, ...job.readings].filter(({ from, to, through }) => [from, to, through].includes(name))
    .length;
}

/** Renames a point everywhere it is named. */
export function renamePoint(job: Job, was: string, now: string): void {
  for (const item of job.loop) if (isPoint(item) && item.point === was) item.point = now;
  for (const measured of [...job.recordings, ...job.readings]) {
    if (measured.from === was) measured.from = now;
    if (measured.to === was) measured.to = now;
  }
}
