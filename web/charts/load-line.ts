/** The load line as a chart: logged moments as dots, each measured state as a cross with its interval, the slope between them. */
import type { RadioState, UncertainQuantity } from "../../analysis/index.ts";
import { Chart } from "./chart-kit.ts";
import { remPixels, sheetColours } from "./colours.ts";

export interface LoadLinePoint {
  readonly radio: RadioState;
  readonly amps: UncertainQuantity;
  readonly volts: UncertainQuantity;
}

/**
 * @param dots amps and volts of logged moments: volts, amps, volts, amps, …
 * @returns what takes the chart away again
 */
export function drawLoadLine(
  canvas: HTMLCanvasElement,
  points: readonly LoadLinePoint[],
  dots: Float64Array,
  sloped: boolean,
): () => void {
  const colours = sheetColours();
  const font = { size: 0.8 * remPixels() };
  const crosses = points.map(({ amps, volts }) => ({ x: amps.value, y: volts.value })).sort((a, b) => a.x - b.x);
  const cloud = Array.from({ length: dots.length / 2 }, (_, index) => ({
    x: dots[2 * index + 1]!,
    y: dots[2 * index]!,
  }));
  const axis = (text: string) => ({
    type: "linear" as const,
    title: { display: true, text, color: colours.ink, font },
    ticks: { color: colours.ink, font },
    grid: { color: colours.hair },
  });
  const chart = new Chart(canvas, {
    type: "scatter",
    data: {
      datasets: [
        {
          data: crosses,
          showLine: sloped,
          borderColor: colours.feed,
          borderWidth: 3,
          pointStyle: "crossRot",
          pointRadius: 9,
          pointBorderWidth: 3,
        },
        { data: cloud, pointRadius: 2, pointBackgroundColor: colours.quiet, pointBorderWidth: 0 },
      ],
    },
    options: {
      responsive: true,
      maintainAspectRatio: false,
      events: [],
      scales: { x: { ...axis("amps"), beginAtZero: true }, y: axis("volts at the set") },
    },
  });
  return () => chart.destroy();
}
