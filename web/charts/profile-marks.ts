/** The marks of the potential profile that chart.js has no element for: band, break, error bars, cliff and its tag. */
import type { Chart } from "chart.js";
import type { Leg, Level, Staircase } from "../../analysis/index.ts";
import { along, type Cliff, type Plan } from "./potential-profile.ts";

interface Spot {
  readonly x: number;
  readonly y: number;
}

const bothLegs: readonly Leg[] = ["supply", "return"];

/** Pixel of a place on the way and a height in volts. */
function spot(chart: Chart, { picture, scale }: Plan, way: number, volts: number, leg: Leg): Spot {
  const x = chart.scales.x!;
  const y = chart.scales.y!;
  const place = scale.place(volts, leg);
  return picture.across
    ? { x: x.getPixelForValue(way), y: y.getPixelForValue(place) }
    : { x: x.getPixelForValue(place), y: y.getPixelForValue(way) };
}

export function drawBand(chart: Chart, plan: Plan): void {
  const { ctx } = chart;
  ctx.save();
  for (const leg of bothLegs) {
    const levels = plan.picture.expected[leg];
    const edge = (bound: (level: Level) => number) =>
      levels.map((level) => spot(chart, plan, along(plan.picture, level), bound(level), leg));
    const outline = [...edge((level) => level.low), ...edge((level) => level.high).reverse()];
    ctx.beginPath();
    for (const [index, { x, y }] of outline.entries()) index === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y);
    ctx.closePath();
    ctx.fillStyle = plan.colours.band;
    ctx.fill();
    ctx.strokeStyle = plan.colours.bandEdge;
    ctx.lineWidth = 1;
    ctx.stroke();
  }
  ctx.restore();
}

/** 'feed side' and 'ground side' where their lines begin, so that colour is not the only sign. */
export function drawLegNames(chart: Chart, plan: Plan): void {
  const { ctx, chartArea } = chart;
  const { across } = plan.picture;
  ctx.save();
  ctx.font = `600 ${0.72 * plan.rem}px ${fontFamily}`;
  ctx.textBaseline = "middle";
  for (const leg of bothLegs) {
    const text = leg === "supply" ? "feed side" : "ground side";
    ctx.fillStyle = leg === "supply" ? plan.colours.feed : plan.colours.return;
    if (across) {
      ctx.textAlign = leg === "supply" ? "left" : "right";
      const x = leg === "supply" ? chartArea.left + 6 : chartArea.right - 6;
      ctx.fillText(text, x, leg === "supply" ? chartArea.bottom - 0.8 * plan.rem : chartArea.top + 0.8 * plan.rem);
    } else {
      ctx.textAlign = leg === "supply" ? "right" : "left";
      const x = leg === "supply" ? chartArea.right - 4 : chartArea.left + 4;
      ctx.fillText(text, x, leg === "supply" ? chartArea.top + 0.9 * plan.rem : chartArea.bottom - 0.9 * plan.rem);
    }
  }
  ctx.restore();
}

/** The absolute volts that the cut-out halves hang on: at the battery, and what is left for the set beside the break. */
export function drawEndWords(chart: Chart, plan: Plan): void {
  const { picture, scale } = plan;
  const { ctx, chartArea } = chart;
  const after = picture.slots[picture.loadSlot]?.end;
  if (after === undefined) return;
  const size = 0.8 * plan.rem;
  ctx.save();
  ctx.font = `650 ${size}px ${fontFamily}`;
  ctx.fillStyle = plan.colours.ink;
  ctx.textBaseline = "middle";
  ctx.textAlign = "left";
  if (picture.across) {
    const middle = scale.span.supply + scale.gap / 2;
    ctx.fillText(picture.loadWords, chart.scales.x!.getPixelForValue(after), chart.scales.y!.getPixelForValue(middle));
    ctx.fillText(picture.batteryWords, chartArea.left + 8, chartArea.top + size * 1.6);
  } else {
    const top = chart.scales.y!.getPixelForValue(after);
    const lines = wrapped(ctx, picture.loadWords, chartArea.width / 2);
    const width = Math.max(0, ...lines.map((text) => ctx.measureText(text).width));
    const first = (picture.measured ?? picture.expected).return[0];
    const beside = first ? chart.scales.x!.getPixelForValue(scale.place(first.volts, "return")) : chartArea.right;
    const fitsLeft = beside - chartArea.left > width + 2 * size;
    const left = fitsLeft ? chartArea.left + 6 : Math.min(beside + size, chartArea.right - width - 4);
    for (const [index, text] of lines.entries()) ctx.fillText(text, left, top + (index + 0.7) * size * 1.2);
    ctx.fillText(picture.batteryWords, chartArea.left + 14, chartArea.top + size);
  }
  ctx.restore();
}

/** Where the load's own volts are cut out: a zigzag, as a drawing breaks a long piece. */
export function drawBreak(chart: Chart, plan: Plan): void {
  const { picture, colours } = plan;
  const stair = picture.measured ?? picture.expected;
  const before = stair.supply.at(-1);
  const after = stair.return[0];
  if (!before || !after) return;
  const start = spot(chart, plan, along(picture, before), before.volts, "supply");
  const end = spot(chart, plan, along(picture, after), after.volts, "return");
  const { ctx } = chart;
  ctx.save();
  ctx.strokeStyle = colours.quiet;
  ctx.lineWidth = 2;
  ctx.setLineDash([]);
  ctx.beginPath();
  ctx.moveTo(start.x, start.y);
  for (const [fraction, swing] of [
    [0.4, 0],
    [0.45, 1],
    [0.55, -1],
    [0.6, 0],
  ] as const) {
    const x = start.x + (end.x - start.x) * fraction;
    const y = start.y + (end.y - start.y) * fraction;
    const aside = swing * 0.5 * plan.rem;
    ctx.lineTo(picture.across ? x + aside : x, picture.across ? y : y + aside);
  }
  ctx.lineTo(end.x, end.y);
  ctx.stroke();
  ctx.restore();
}

/** At each point: a disc where a probe has been, a ring where the level follows from the rest; with its 95 % interval. */
export function drawErrorBars(chart: Chart, plan: Plan, stair: Staircase): void {
  const { ctx } = chart;
  ctx.save();
  ctx.setLineDash([]);
  for (const leg of bothLegs) {
    ctx.strokeStyle = leg === "supply" ? plan.colours.feed : plan.colours.return;
    for (const level of stair[leg]) drawLevel(chart, plan, level, leg);
  }
  ctx.restore();
}

function drawLevel(chart: Chart, plan: Plan, level: Level, leg: Leg): void {
  const { ctx } = chart;
  const { picture, colours } = plan;
  const slot = picture.slots[level.slot];
  if (!slot || !isPointSlot(plan, level.slot)) return;
  const way = (slot.start + slot.end) / 2;
  const at = spot(chart, plan, way, level.volts, leg);
  const low = spot(chart, plan, way, level.low, leg);
  const high = spot(chart, plan, way, level.high, leg);
  ctx.lineWidth = 2;
  ctx.beginPath();
  ctx.moveTo(low.x, low.y);
  ctx.lineTo(high.x, high.y);
  ctx.stroke();
  const chosen = picture.chosen.includes(level.slot);
  ctx.beginPath();
  ctx.arc(at.x, at.y, chosen ? 8 : 5.5, 0, 2 * Math.PI);
  ctx.fillStyle = picture.probed.has(level.slot) ? String(ctx.strokeStyle) : colours.sheet;
  ctx.fill();
  ctx.lineWidth = chosen ? 4 : 2;
  ctx.stroke();
}

const isPointSlot = ({ picture }: Plan, index: number): boolean => picture.pointSlots.has(index);

/** The riser that eats the volts: hatched from side to side, its part and volts on a yellow tag. */
export function drawCliff(chart: Chart, plan: Plan, stair: Staircase, cliff: Cliff): void {
  const slot = plan.picture.slots[cliff.slot];
  const found = cliffEnds(stair, cliff.slot);
  if (!slot || !found) return;
  const { leg, top, foot } = found;
  const start = spot(chart, plan, slot.start, top, leg);
  const end = spot(chart, plan, slot.end, foot, leg);
  const { ctx } = chart;
  ctx.save();
  ctx.setLineDash([]);
  ctx.strokeStyle = plan.colours.tag;
  ctx.lineCap = "round";
  ctx.lineWidth = 14;
  line(ctx, start, end);
  ctx.strokeStyle = leg === "supply" ? plan.colours.feed : plan.colours.return;
  ctx.lineWidth = 5;
  line(ctx, start, end);
  drawTag(chart, plan, { x: (start.x + end.x) / 2, y: (start.y + end.y) / 2 }, cliff.label);
  ctx.restore();
}

function cliffEnds(stair: Staircase, slot: number): { leg: Leg; top: number; foot: number } | null {
  for (const leg of bothLegs) {
    const index = stair[leg].findIndex((level) => level.slot === slot);
    if (index > 0) return { leg, top: stair[leg][index - 1]!.volts, foot: stair[leg][index]!.volts };
  }
  return null;
}

function line(ctx: CanvasRenderingContext2D, from: Spot, to: Spot): void {
  ctx.beginPath();
  ctx.moveTo(from.x, from.y);
  ctx.lineTo(to.x, to.y);
  ctx.stroke();
}

const fontFamily = 'system-ui, "Segoe UI", "Liberation Sans", "DejaVu Sans", sans-serif';

function drawTag(chart: Chart, plan: Plan, at: Spot, label: string): void {
  const { ctx, chartArea } = chart;
  const size = 0.86 * plan.rem;
  ctx.font = `700 ${size}px ${fontFamily}`;
  const lines = wrapped(ctx, label, Math.max(chartArea.width * 0.6, 7 * plan.rem));
  const width = Math.max(...lines.map((text) => ctx.measureText(text).width)) + size * 1.4;
  const height = lines.length * size * 1.25 + size * 0.7;
  const clear = 1.1 * plan.rem;
  const right = at.x + clear + width <= chartArea.right;
  const left = at.x - clear - width >= chartArea.left;
  const x = right
    ? at.x + clear
    : left
      ? at.x - clear - width
      : clamp(at.x - width / 2, chartArea.left + 2, chartArea.right - width - 2);
  const aside = right || left;
  const y = clamp(aside ? at.y - height / 2 : at.y + clear, chartArea.top + 2, chartArea.bottom - height - 2);
  ctx.fillStyle = plan.colours.tag;
  ctx.strokeStyle = plan.colours.tagInk;
  ctx.lineWidth = 2;
  ctx.beginPath();
  ctx.roundRect(x, y, width, height, 4);
  ctx.fill();
  ctx.stroke();
  ctx.fillStyle = plan.colours.tagInk;
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  for (const [index, text] of lines.entries())
    ctx.fillText(text, x + size * 0.7, y + size * 0.35 + (index + 0.5) * size * 1.25);
}

const clamp = (value: number, low: number, high: number): number => Math.max(low, Math.min(value, high));

function wrapped(ctx: CanvasRenderingContext2D, text: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(" ")) {
    const last = lines.at(-1);
    if (last !== undefined && ctx.measureText(`${last} ${word}`).width <= width)
      lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}
