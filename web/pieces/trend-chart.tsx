/** Ohms of one part over the days: a mark a visit with its 95 % interval, and the most that it may have as a line. */
import { type PartTrend, type VehicleHistory, valueForPrint } from "../../analysis/index.ts";

const size = { width: 300, height: 110, left: 8, right: 8, top: 10, bottom: 18 } as const;
/** An interval that reaches far above the rest is cut off, so that the others can be seen. */
const mostOfLimit = 2;

export function TrendChart({ history, trend, name }: { history: VehicleHistory; trend: PartTrend; name: string }) {
  const points = history.visits.flatMap(({ day, ohms }, place) => {
    const value = ohms.get(trend.id);
    return day !== null && value
      ? [{ day, days: Date.parse(day), ohms: value, counts: trend.over.includes(place) }]
      : [];
  });
  if (points.length === 0) return null;
  const largest = Math.max(...points.map(({ ohms }) => ohms.value), trend.limitOhms ?? 0);
  const top = Math.min(Math.max(...points.map(({ ohms }) => ohms.high), largest), largest * mostOfLimit) * 1.05;
  const [first, last] = [points[0]!, points.at(-1)!];
  const span = Math.max(1, last.days - first.days);
  const x = (days: number) => size.left + 8 + ((days - first.days) / span) * (size.width - size.left - size.right - 16);
  const y = (ohms: number) =>
    size.top + (1 - Math.min(Math.max(ohms, 0), top) / top) * (size.height - size.top - size.bottom);
  const said = points.map(({ day, ohms }) => `${day}: ${valueForPrint(ohms, "Ω")}`).join("; ");
  return (
    <svg class="trend" viewBox={`0 0 ${size.width} ${size.height}`} role="img" aria-label={`${name}: ${said}`}>
      <path class="trend-base" d={`M${size.left} ${y(0)}H${size.width - size.right}`} />
      {trend.limitOhms !== null && (
        <path class="trend-limit" d={`M${size.left} ${y(trend.limitOhms)}H${size.width - size.right}`} />
      )}
      {points.map(({ day, days, ohms, counts }, index) => (
        <g key={`${day} ${index}`} class={counts ? "trend-point" : "trend-point trend-earlier"}>
          <path d={`M${x(days)} ${y(ohms.low)}V${y(ohms.high)}`} />
          <circle cx={x(days)} cy={y(ohms.value)} r="4.5" />
        </g>
      ))}
      <text x={size.left} y={size.height - 4}>
        {first.day}
      </text>
      {last.day !== first.day && (
        <text x={size.width - size.right} y={size.height - 4} text-anchor="end">
          {last.day}
        </text>
      )}
    </svg>
  );
}
