/** Names on screen: points and parts as they are spoken of, kinds as they are picked from a list. */
import { type LoopItem, pointWords } from "../../analysis/index.ts";

export const connectionWords: Record<string, string> = {
  "battery-post": "Battery post clamp",
  "ring-lug": "Ring lug",
  plug: "Plug",
  splice: "Splice",
  "ground-stud": "Ground stud",
  strap: "Ground strap",
  "screw-terminal": "Screw terminal, terminal block or bus bar",
  "push-on": "Push-on terminal",
  "accessory-socket": "Accessory socket",
};

export const fuseWords: Record<string, string> = {
  blade: "Blade fuse",
  "maxi-blade": "Large blade fuse",
  "bolt-down": "Bolt-down fuse",
  glass: "Glass fuse, in line",
};

/** 'battery+' → 'battery +', 'fuse-out' → 'fuse out', 'load-' → 'load −'. */
export const pointName = (point: string): string => pointWords(point).replaceAll(/[-_](?=\w)/g, " ");

/** 'ground-stud' → 'ground stud'; a label where the job has one. */
export const partName = (item: { id?: string; label?: string }): string =>
  item.label || (item.id ?? "load").replaceAll(/[-_]/g, " ");

export function kindName(item: LoopItem): string {
  if ("point" in item) return "Test point";
  switch (item.part) {
    case "connection":
      return connectionWords[item.style] ?? item.style;
    case "fuse":
      return fuseWords[item.style] ?? item.style;
    case "wire":
      return "Wire";
    case "switch":
      return "Switch, relay or breaker";
    case "chassis":
      return "Body or frame";
    case "load":
      return "Load";
  }
}
