/**
 * Trade symbols of parts, drawn on a conductor that runs from top to bottom (turned a quarter where it runs across).
 * Fuse: box with the wire through it; plug: two chevrons; lug: ring; stud: nut; strap: braid; switch: lever; chassis: rake.
 */
import type { LoopItem } from "../../analysis/index.ts";

const strokes: Record<string, string> = {
  point: "M16 0V32 M16 16m-5 0a5 5 0 1 0 10 0a5 5 0 1 0-10 0",
  wire: "M16 0V32 M11 19l10-6",
  fuse: "M16 0V32 M10 6h12v20h-12z",
  switch:
    "M16 0V8 M16 24V32 M16 24L25 9 M16 8m-2 0a2 2 0 1 0 4 0a2 2 0 1 0-4 0 M16 24m-2 0a2 2 0 1 0 4 0a2 2 0 1 0-4 0",
  chassis: "M16 0V32 M6 16H26 M6 16l-4 7 M13 16l-4 7 M20 16l-4 7 M27 16l-4 7",
  load: "M5 10h22v16h-22z M16 0V10 M16 26V32 M10 15h6 M10 20h3 M22 17.5m-2.5 0a2.5 2.5 0 1 0 5 0a2.5 2.5 0 1 0-5 0",
  "battery-post": "M16 0V11 M16 21V32 M8 11h16v10h-16z M16 11V21",
  "ring-lug":
    "M16 0V6 M16 26V32 M16 16m-10 0a10 10 0 1 0 20 0a10 10 0 1 0-20 0 M16 16m-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0",
  plug: "M16 0V14 M8 8l8 8l8-8 M8 16l8 8l8-8 M16 24V32",
  splice: "M16 0V32 M12 10h8v12h-8z M12 16h8",
  "ground-stud": "M16 0V6 M16 26V32 M10 6h12l6 10l-6 10h-12l-6-10z M16 16m-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0",
  strap: "M16 0V5 M16 27V32 M11 5h10v22h-10z M11 5l10 7 M11 12l10 7 M11 19l10 7 M21 5l-10 7 M21 12l-10 7 M21 19l-10 7",
  "screw-terminal": "M16 0V7 M16 25V32 M16 16m-9 0a9 9 0 1 0 18 0a9 9 0 1 0-18 0 M10 22L22 10",
  "push-on": "M16 0V12 M9 12h14 M9 12v14 M23 12v14 M16 18V32",
  "accessory-socket": "M16 0V6 M16 26V32 M16 16m-10 0a10 10 0 1 0 20 0a10 10 0 1 0-20 0 M16 12V20",
};

export function PartSymbol({ item, across = false }: { item: LoopItem; across?: boolean }) {
  const name = "point" in item ? "point" : item.part === "connection" ? item.style : item.part;
  const turned = across && name !== "load" ? "rotate(-90 16 16)" : undefined;
  return (
    <svg class="symbol" viewBox="0 0 32 32" aria-hidden="true">
      <path d={strokes[name] ?? strokes.wire} transform={turned} />
    </svg>
  );
}
