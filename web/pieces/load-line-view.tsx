/** The load line: the set's volts against its amps. Its slope is the ohms of everything before the set, battery included. */
import { useEffect, useRef, useState } from "preact/hooks";
import { type RoundDiagnosis, type StateEntry, withInterval } from "../../analysis/index.ts";
import type { LoadLinePoint } from "../charts/load-line.ts";
import type { Lane } from "../screens/traces.tsx";
import { theme } from "../settings.ts";
import { clerk } from "../worker/workers.ts";

/** More dots than this only darken the picture. */
const dotsAtMost = 1500;

export function LoadLineView({ lanes, round }: { lanes: readonly Lane[]; round: RoundDiagnosis }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const [dots, setDots] = useState<Float64Array | null>(null);
  const points = round.states.flatMap(pointOf);
  const line = slopeOf(round.states);
  const look = theme.value;

  useEffect(() => {
    let current = true;
    const volts = lanes.find(({ source }) => source.recording.from === "load+" && source.recording.to === "load-");
    const amps = lanes.find(({ source }) => source.recording.quantity === "amps");
    setDots(null);
    if (volts && amps && volts.clock.aligned && amps.clock.aligned) {
      const shift = amps.clock.toOwn(volts.clock.toCommon(0));
      void clerk()
        .pairs(volts.source, amps.source, shift, dotsAtMost)
        .then((pairs) => current && setDots(pairs));
    }
    return () => {
      current = false;
    };
  }, [lanes]);

  useEffect(() => {
    let current = true;
    let remove = () => {};
    if (points.length > 0) {
      void import("../charts/load-line.ts").then(({ drawLoadLine }) => {
        if (current) remove = drawLoadLine(canvas.current!, points, dots ?? new Float64Array(0), line !== null);
      });
    }
    return () => {
      current = false;
      remove();
    };
  }, [round, dots, look]);

  if (points.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="load-line-heading">
      <h2 id="load-line-heading">Load line</h2>
      <p>
        {line ? (
          <>
            The set loses <strong class="figure">{withInterval(line, "Ω")}</strong> times its amps: battery, feed and
            ground together.
          </>
        ) : (
          "One state only: key the set and measure its amps for the slope."
        )}
      </p>
      <div class="load-line">
        <canvas
          ref={canvas}
          role="img"
          aria-label={`Volts at the set against amps${line ? `, slope ${withInterval(line, "Ω")}` : ""}`}
        />
      </div>
    </section>
  );
}

function pointOf({ engine, radio, amps, loadVolts }: StateEntry): LoadLinePoint[] {
  return engine === "off" && amps && loadVolts ? [{ radio, amps, volts: loadVolts }] : [];
}

/** Ohms from receiving to keyed, engine off; first-order uncertainty, the four figures taken as independent. */
function slopeOf(states: readonly StateEntry[]) {
  const of = (radio: string) => states.find((state) => state.engine === "off" && state.radio === radio);
  const [idle, keyed] = [of("idle"), of("transmit")];
  if (!idle?.amps || !idle.loadVolts || !keyed?.amps || !keyed.loadVolts) return null;
  const volts = idle.loadVolts.value - keyed.loadVolts.value;
  const amps = keyed.amps.value - idle.amps.value;
  if (!(amps > 0)) return null;
  const value = volts / amps;
  const voltsPart = Math.hypot(idle.loadVolts.uncertainty, keyed.loadVolts.uncertainty) / amps;
  const ampsPart = (value * Math.hypot(idle.amps.uncertainty, keyed.amps.uncertainty)) / amps;
  const uncertainty = Math.hypot(voltsPart, ampsPart);
  return { value, uncertainty, low: value - 1.96 * uncertainty, high: value + 1.96 * uncertainty };
}
