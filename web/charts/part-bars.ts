/** Parts before and after: two bars a part in milliohms, the earlier one hollow, the later one full. */
import type { Comparison } from "../../analysis/index.ts";
import { Chart } from "./chart-kit.ts";
import { remPixels, sheetColours } from "./colours.ts";

/** @returns what takes the chart away again */
export function drawPartBars(
  canvas: HTMLCanvasElement,
  { from, to, parts }: Comparison,
  names: readonly string[],
): () => void {
  const colours = sheetColours();
  const font = { size: 0.8 * remPixels() };
  const milliohms = (of: "ohmsBefore" | "ohmsAfter") => parts.map((part) => (part[of] ? part[of].value * 1000 : null));
  const chart = new Chart(canvas, {
    type: "bar",
    data: {
      labels: [...names],
      datasets: [
        {
          label: from,
          data: milliohms("ohmsBefore"),
          backgroundColor: colours.sheet,
          borderColor: colours.ink,
          borderWidth: 2,
        },
        {
          label: to,
          data: milliohms("ohmsAfter"),
          backgroundColor: colours.bandEdge,
          borderColor: colours.bandEdge,
          borderWidth: 2,
        },
      ],
    },
    options: {
      indexAxis: "y",
      responsive: true,
      maintainAspectRatio: false,
      events: [],
      scales: {
        x: {
          beginAtZero: true,
          title: { display: true, text: `mΩ: hollow ${from}, full ${to}`, color: colours.ink, font },
          ticks: { color: colours.ink, font },
          grid: { color: colours.hair },
        },
        y: { ticks: { color: colours.ink, font, autoSkip: false }, grid: { display: false } },
      },
    },
  });
  return () => chart.destroy();
}
