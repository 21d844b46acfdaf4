/** The pieces of chart.js that are used, and no others: loaded when the first chart is needed. */
import {
  BarController,
  BarElement,
  CategoryScale,
  Chart,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
  ScatterController,
} from "chart.js";

Chart.register(
  BarController,
  BarElement,
  CategoryScale,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
  ScatterController,
);
Chart.defaults.animation = false;
Chart.defaults.font.family = 'system-ui, "Segoe UI", "Liberation Sans", "DejaVu Sans", sans-serif';

export { Chart };
