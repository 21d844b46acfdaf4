/**
 * The potential profile as a chart: the expected as a band, the measured as a staircase on it, the cliff under its tag.
 * Goes in: staircases, and where the strip of parts beside the chart has laid out each slot (pixels along the way).
 */
import type { ChartConfiguration, Chart as ChartType, Plugin } from "chart.js";
import { BrokenVolts, type Leg, type Level, type Staircase, spanOf } from "../../analysis/index.ts";
import { Chart } from "./chart-kit.ts";
import { type Colours, remPixels, sheetColours } from "./colours.ts";
import { drawBand, drawBreak, drawCliff, drawEndWords, drawErrorBars, drawLegNames } from "./profile-marks.ts";

export interface Cliff {
  /** index of the slot that eats the volts */
  readonly slot: number;
  readonly label: string;
}

export interface ProfilePicture {
  readonly across: boolean;
  /** where each slot begins and ends along the way, in CSS pixels from the chart's edge */
  readonly slots: readonly { readonly start: number; readonly end: number }[];
  /** extent of the whole strip along the way, in the same pixels */
  readonly extent: number;
  /** room for the volts axis: left of the chart when across, above it when upright */
  readonly axisRoom: number;
  readonly expected: Staircase;
  readonly measured: Staircase | null;
  /** the other round of a before-and-after, drawn thin */
  readonly earlier: Staircase | null;
  /** slots of the points that were really probed */
  readonly probed: ReadonlySet<number>;
  /** slots that are points */
  readonly pointSlots: ReadonlySet<number>;
  readonly loadSlot: number;
  readonly cliff: Cliff | null;
  /** what the battery gives and what is left for the set, in words */
  readonly batteryWords: string;
  readonly loadWords: string;
  /** slot indices of the one or two points chosen */
  readonly chosen: readonly number[];
}

/** What every mark needs: from volts and slots to pixels of the chart. */
export interface Plan {
  readonly picture: ProfilePicture;
  readonly scale: BrokenVolts;
  readonly colours: Colours;
  readonly rem: number;
}

export type ProfileChart = ChartType & { plan?: Plan };

export class PotentialProfile {
  private chart: ProfileChart | null = null;
  private readonly canvas: HTMLCanvasElement;

  constructor(canvas: HTMLCanvasElement) {
    this.canvas = canvas;
  }

  show(picture: ProfilePicture): void {
    if (this.chart && this.chart.plan?.picture.across !== picture.across) this.destroy();
    const stairs = [picture.expected, picture.measured, picture.earlier].filter((stair) => stair !== null);
    const plan: Plan = { picture, scale: new BrokenVolts(spanOf(stairs)), colours: sheetColours(), rem: remPixels() };
    const config = configuration(plan);
    if (!this.chart) {
      this.chart = new Chart(this.canvas, config) as ProfileChart;
    } else {
      this.chart.data = config.data;
      this.chart.options = config.options!;
    }
    this.chart.plan = plan;
    this.chart.update("none");
  }

  resize(): void {
    this.chart?.resize();
  }

  destroy(): void {
    this.chart?.destroy();
    this.chart = null;
  }
}

/** Pixels along the way of a level: where its slot ends. */
export function along(picture: ProfilePicture, level: Pick<Level, "slot">): number {
  return level.slot < 0 ? (picture.slots[0]?.start ?? 0) : (picture.slots[level.slot]?.end ?? picture.extent);
}

function configuration(plan: Plan): ChartConfiguration<"line"> {
  const { picture, colours } = plan;
  const datasets = [
    ...legs(plan, picture.expected, { width: 1.5, dash: [6, 4], colour: () => colours.bandEdge }),
    ...(picture.earlier ? legs(plan, picture.earlier, { width: 2, dash: [2, 3], colour: () => colours.quiet }) : []),
    ...(picture.measured
      ? legs(plan, picture.measured, {
          width: 4,
          dash: [],
          colour: (leg) => (leg === "supply" ? colours.feed : colours.return),
        })
      : []),
  ];
  return {
    type: "line",
    data: { datasets },
    plugins: [marks],
    options: {
      responsive: true,
      maintainAspectRatio: false,
      parsing: false,
      indexAxis: picture.across ? "x" : "y",
      events: [],
      layout: { padding: 0 },
      plugins: { legend: { display: false } },
      scales: picture.across
        ? { x: wayAxis(plan), y: voltsAxis(plan, true) }
        : { y: wayAxis(plan), x: voltsAxis(plan, false) },
    },
  } as ChartConfiguration<"line">;
}

interface Stroke {
  readonly width: number;
  readonly dash: number[];
  readonly colour: (leg: Leg) => string;
}

function legs({ picture, scale }: Plan, stair: Staircase, stroke: Stroke) {
  return (["supply", "return"] as const).map((leg) => ({
    data: stair[leg].map((level) => {
      const way = along(picture, level);
      const volts = scale.place(level.volts, leg);
      return picture.across ? { x: way, y: volts } : { x: volts, y: way };
    }),
    borderColor: stroke.colour(leg),
    borderWidth: stroke.width,
    borderDash: stroke.dash,
    borderJoinStyle: "round" as const,
    pointRadius: 0,
    tension: 0,
    clip: false as const,
  }));
}

const wayAxis = ({ picture }: Plan) => ({
  type: "linear" as const,
  min: 0,
  max: picture.extent,
  reverse: false,
  display: false,
  ...(picture.across ? {} : { reverse: true, min: 0 }),
});

function voltsAxis({ scale, picture, colours, rem }: Plan, across: boolean) {
  const ticks = scale.ticks();
  const labels = new Map(ticks.map(({ value, label }) => [value, label]));
  return {
    type: "linear" as const,
    position: across ? ("left" as const) : ("top" as const),
    min: 0,
    max: scale.length,
    reverse: across,
    afterBuildTicks: (axis: { ticks: { value: number }[] }) => {
      axis.ticks = ticks.map(({ value }) => ({ value }));
    },
    afterFit: (axis: { width: number; height: number }) => {
      if (across) axis.width = picture.axisRoom;
      else axis.height = picture.axisRoom;
    },
    ticks: {
      callback: (value: number | string) => labels.get(Number(value)) ?? "",
      color: colours.ink,
      font: { size: 0.72 * rem },
      autoSkip: !across,
      maxRotation: 0,
      includeBounds: true,
    },
    grid: { color: colours.hair, drawTicks: false },
    border: { display: false },
  };
}

const marks: Plugin<"line"> = {
  id: "profile-marks",
  beforeDatasetsDraw(chart) {
    const { plan } = chart as unknown as ProfileChart;
    if (!plan) return;
    drawBand(chart, plan);
    drawLegNames(chart, plan);
    drawEndWords(chart, plan);
  },
  afterDatasetsDraw(chart) {
    const { plan } = chart as unknown as ProfileChart;
    if (!plan) return;
    drawBreak(chart, plan);
    if (plan.picture.measured) drawErrorBars(chart, plan, plan.picture.measured);
    if (plan.picture.measured && plan.picture.cliff) drawCliff(chart, plan, plan.picture.measured, plan.picture.cliff);
  },
};
