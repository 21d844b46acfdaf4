/** Ohms of each part before and after, as bars lying on the page. */
import { useEffect, useRef } from "preact/hooks";
import type { Comparison, Job } from "../../analysis/index.ts";
import { theme } from "../settings.ts";
import { nameOfPart } from "../words/reading-words.ts";

export function PartBarsView({ job, comparison }: { job: Job; comparison: Comparison }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const look = theme.value;
  useEffect(() => {
    let current = true;
    let remove = () => {};
    void import("../charts/part-bars.ts").then(({ drawPartBars }) => {
      if (!current) return;
      const names = comparison.parts.map(({ id }) => nameOfPart(job, id));
      remove = drawPartBars(canvas.current!, comparison, names);
    });
    return () => {
      current = false;
      remove();
    };
  }, [comparison, look]);
  return (
    <div class="part-bars" data-parts={comparison.parts.length}>
      <canvas
        ref={canvas}
        role="img"
        aria-label={`Milliohms of each part, ${comparison.from} and ${comparison.to}; the same figures are in the table below.`}
      />
    </div>
  );
}
