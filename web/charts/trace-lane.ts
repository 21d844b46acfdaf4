/**
 * One log as a trace: its samples thinned to least and greatest for what is visible, the states as bands behind it,
 * its steady stretches with their level, and its events as marks.
 */
import type { Chart as ChartType, Plugin } from "chart.js";
import { fixed, type LogEvent, type PlateauEntry } from "../../analysis/index.ts";
import { clock } from "../words/shown.ts";
import { Chart } from "./chart-kit.ts";
import { type Colours, remPixels, sheetColours } from "./colours.ts";

export interface TraceData {
  /** common time, seconds */
  readonly seconds: Float64Array;
  readonly values: Float64Array;
}

/** In common time. */
export interface TraceMarks {
  readonly plateaus: readonly PlateauEntry[];
  readonly events: readonly LogEvent[];
  readonly labels: readonly { readonly seconds: number; readonly label: string }[];
}

export interface TraceLook {
  readonly unit: "V" | "A";
  readonly least: number;
  readonly most: number;
}

interface Plan {
  readonly marks: TraceMarks;
  readonly look: TraceLook;
  readonly colours: Colours;
  readonly rem: number;
  cursor: number | null;
}

type LaneChart = ChartType & { plan?: Plan };

export class TraceLane {
  private readonly chart: LaneChart;
  private readonly plan: Plan;

  constructor(canvas: HTMLCanvasElement, marks: TraceMarks, look: TraceLook) {
    this.plan = { marks, look, colours: sheetColours(), rem: remPixels(), cursor: null };
    this.chart = new Chart(canvas, configuration(this.plan) as never) as LaneChart;
    this.chart.plan = this.plan;
    this.chart.draw();
  }

  /** The new range at once; the samples for it follow when the worker has them. */
  showRange(from: number, to: number): void {
    const { x } = this.chart.options.scales!;
    x!.min = from;
    x!.max = to;
    this.chart.update("none");
  }

  showData({ seconds, values }: TraceData): void {
    const points = Array.from(seconds, (x, index) => ({ x, y: values[index]! }));
    this.chart.data.datasets[0]!.data = points;
    this.chart.update("none");
  }

  showCursor(moment: number | null): void {
    this.plan.cursor = moment;
    this.chart.draw();
  }

  /** pixels of the plot, from the canvas's left edge */
  area(): { left: number; width: number } {
    const { left, width } = this.chart.chartArea ?? { left: 0, width: 1 };
    return { left, width };
  }

  destroy(): void {
    this.chart.destroy();
  }
}

/** So many pixels on the left hold the volts, in every lane alike, so that the times stand over each other. */
const axisRems = 3.2;

function configuration(plan: Plan) {
  const { look, colours, rem } = plan;
  const font = { size: 0.76 * rem };
  const margin = Math.max((look.most - look.least) * 0.08, look.unit === "V" ? 0.005 : 0.05);
  return {
    type: "line",
    data: {
      datasets: [{ data: [], borderColor: colours.ink, borderWidth: 1.4, pointRadius: 0, spanGaps: false, tension: 0 }],
    },
    plugins: [laneMarks],
    options: {
      responsive: true,
      maintainAspectRatio: false,
      parsing: false,
      normalized: true,
      events: [],
      layout: { padding: { top: 2, right: 8 } },
      scales: {
        x: {
          type: "linear",
          ticks: {
            color: colours.ink,
            font,
            maxRotation: 0,
            callback: (value: number | string) => clock(Number(value)),
            autoSkipPadding: 24,
          },
          grid: { color: colours.hair },
        },
        y: {
          type: "linear",
          min: look.least - margin,
          max: look.most + margin,
          afterFit: (axis: { width: number }) => {
            axis.width = axisRems * rem;
          },
          ticks: { color: colours.ink, font, maxTicksLimit: 6, includeBounds: false },
          grid: { color: colours.hair },
        },
      },
    },
  };
}

const laneMarks: Plugin<"line"> = {
  id: "lane-marks",
  beforeDatasetsDraw(chart) {
    const { plan } = chart as unknown as LaneChart;
    if (plan) clipped(chart as unknown as ChartType, () => drawStates(chart as unknown as ChartType, plan));
  },
  afterDatasetsDraw(chart) {
    const { plan } = chart as unknown as LaneChart;
    if (!plan) return;
    clipped(chart as unknown as ChartType, () => {
      drawPlateaus(chart as unknown as ChartType, plan);
      drawEvents(chart as unknown as ChartType, plan);
      drawCursor(chart as unknown as ChartType, plan);
    });
  },
};

function clipped({ ctx, chartArea }: ChartType, draw: () => void): void {
  ctx.save();
  ctx.beginPath();
  ctx.rect(chartArea.left, chartArea.top, chartArea.width, chartArea.height);
  ctx.clip();
  draw();
  ctx.restore();
}

/** Keyed stretches as slanted lines behind the trace, engine running as a bar along the foot: told by shape, not colour. */
function drawStates({ ctx, chartArea, scales }: ChartType, { marks, colours }: Plan): void {
  for (const { startSeconds, endSeconds, engine, radio } of marks.plateaus) {
    const left = scales.x!.getPixelForValue(startSeconds);
    const right = scales.x!.getPixelForValue(endSeconds);
    if (right < chartArea.left || left > chartArea.right) continue;
    if (radio === "transmit")
      hatch(ctx, Math.max(left, chartArea.left), Math.min(right, chartArea.right), chartArea, colours.band);
    if (engine === "running") {
      ctx.fillStyle = colours.rule;
      ctx.fillRect(left, chartArea.bottom - 5, right - left, 5);
    }
  }
}

function hatch(
  ctx: CanvasRenderingContext2D,
  left: number,
  right: number,
  area: { top: number; bottom: number },
  colour: string,
): void {
  ctx.fillStyle = colour;
  ctx.globalAlpha = 0.75;
  ctx.fillRect(left, area.top, right - left, area.bottom - area.top);
  ctx.globalAlpha = 1;
}

/** Each steady stretch at its level, two standard uncertainties to either side. */
function drawPlateaus({ ctx, chartArea, scales }: ChartType, { marks, colours, look, rem }: Plan): void {
  ctx.font = `600 ${0.72 * rem}px ${Chart.defaults.font.family}`;
  ctx.textBaseline = "bottom";
  for (const { startSeconds, endSeconds, value, uncertainty } of marks.plateaus) {
    const left = scales.x!.getPixelForValue(startSeconds);
    const right = scales.x!.getPixelForValue(endSeconds);
    if (right < chartArea.left || left > chartArea.right) continue;
    const middle = scales.y!.getPixelForValue(value);
    const half = Math.max(1.5, Math.abs(scales.y!.getPixelForValue(value + 2 * uncertainty) - middle));
    ctx.fillStyle = colours.action;
    ctx.globalAlpha = 0.45;
    ctx.fillRect(left, middle - half, right - left, 2 * half);
    ctx.globalAlpha = 1;
    const words = `${fixed(value, look.unit === "V" ? 3 : 2)} ${look.unit}`;
    const from = Math.max(left, chartArea.left) + 3;
    if (Math.min(right, chartArea.right) - from < ctx.measureText(words).width) continue;
    ctx.fillStyle = colours.ink;
    ctx.fillText(words, from, middle - half - 2 < chartArea.top + rem ? middle + half + rem : middle - half - 2);
  }
}

const eventMarks: Partial<Record<LogEvent["kind"], string>> = {
  "load-reset": "reset",
  "contact-break": "break",
  "engine-start": "start",
  "engine-stop": "stop",
};

function drawEvents({ ctx, chartArea, scales }: ChartType, { marks, colours, rem }: Plan): void {
  ctx.font = `700 ${0.72 * rem}px ${Chart.defaults.font.family}`;
  ctx.textBaseline = "top";
  ctx.strokeStyle = colours.quiet;
  const named = [
    ...marks.events.map(({ kind, seconds }) => ({ seconds, words: eventMarks[kind] ?? "" })),
    ...marks.labels.map(({ seconds, label }) => ({ seconds, words: label })),
  ];
  let taken = Number.NEGATIVE_INFINITY;
  for (const { seconds, words } of named.sort((a, b) => a.seconds - b.seconds)) {
    const at = scales.x!.getPixelForValue(seconds);
    if (at < chartArea.left || at > chartArea.right) continue;
    ctx.setLineDash(words ? [] : [2, 4]);
    ctx.beginPath();
    ctx.moveTo(at, chartArea.top);
    ctx.lineTo(at, chartArea.bottom);
    ctx.stroke();
    if (words === "" || at < taken) continue;
    const width = ctx.measureText(words).width + 8;
    taken = at + width;
    ctx.fillStyle = colours.tag;
    ctx.fillRect(at, chartArea.top, width, rem);
    ctx.fillStyle = colours.tagInk;
    ctx.fillText(words, at + 4, chartArea.top + 2);
  }
  ctx.setLineDash([]);
}

function drawCursor({ ctx, chartArea, scales }: ChartType, { cursor, colours }: Plan): void {
  if (cursor === null) return;
  const at = scales.x!.getPixelForValue(cursor);
  ctx.strokeStyle = colours.feed;
  ctx.lineWidth = 2;
  ctx.beginPath();
  ctx.moveTo(at, chartArea.top);
  ctx.lineTo(at, chartArea.bottom);
  ctx.stroke();
}
