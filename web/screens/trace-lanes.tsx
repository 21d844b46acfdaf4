/** The lanes of the traces: one range of time for all, moved by fingers, wheel, buttons or keys; one cursor with values. */
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { fixed, type Job, radioWords } from "../../analysis/index.ts";
import { listenForGestures } from "../charts/time-gestures.ts";
import type { TraceLane, TraceMarks } from "../charts/trace-lane.ts";
import { theme } from "../settings.ts";
import { placeOf } from "../words/reading-words.ts";
import { clock, count } from "../words/shown.ts";
import type { TraceWindow } from "../worker/pyramid.ts";
import { clerk } from "../worker/workers.ts";
import type { Lane } from "./traces.tsx";

interface Range {
  readonly from: number;
  readonly to: number;
}

interface TraceLanesProps {
  readonly job: Job;
  readonly lanes: readonly Lane[];
  readonly wanted: URLSearchParams;
}

export function TraceLanes({ job, lanes, wanted }: TraceLanesProps) {
  const whole = useMemo(() => wholeRange(lanes), [lanes]);
  const [range, setRange] = useState<Range>(() => wantedRange(lanes, wanted) ?? whole);
  const [cursor, setCursor] = useState<number | null>(null);
  const change = (next: (now: Range) => Range) => setRange((now) => kept(next(now), whole));
  const zoom = (factor: number, at = 0.5) =>
    change(({ from, to }) => {
      const fixedPoint = from + (to - from) * at;
      return { from: fixedPoint - (fixedPoint - from) * factor, to: fixedPoint + (to - fixedPoint) * factor };
    });
  const pan = (by: number) => change(({ from, to }) => ({ from: from - by * (to - from), to: to - by * (to - from) }));
  const point = (at: number) => setCursor(range.from + Math.min(Math.max(at, 0), 1) * (range.to - range.from));

  return (
    <section aria-label="Traces of the logs" class="traces">
      <div class="actions trace-buttons">
        <button type="button" onClick={() => zoom(0.5)} aria-label="Closer">
          +
        </button>
        <button type="button" onClick={() => zoom(2)} aria-label="Wider">
          −
        </button>
        <button type="button" onClick={() => pan(0.5)} aria-label="Earlier">
          ◀
        </button>
        <button type="button" onClick={() => pan(-0.5)} aria-label="Later">
          ▶
        </button>
        <button type="button" onClick={() => setRange(whole)}>
          All
        </button>
      </div>
      {lanes.map((lane, index) => (
        <LaneView
          key={`${lane.source.sha256} ${index}`}
          job={job}
          lane={lane}
          range={range}
          cursor={cursor}
          onZoom={zoom}
          onPan={pan}
          onPoint={point}
        />
      ))}
      <div class="field">
        <label for="trace-cursor">Cursor{cursor === null ? "" : ` at ${clock(cursor)}`}</label>
        <input
          id="trace-cursor"
          type="range"
          min={range.from}
          max={range.to}
          step={(range.to - range.from) / 500 || 1}
          value={cursor ?? range.from}
          onInput={(event) => setCursor(Number(event.currentTarget.value))}
        />
      </div>
      <p class="profile-key">
        <span>
          <span class="key-band" /> keyed
        </span>
        <span>
          <span class="key-level" /> steady level ± 2 u
        </span>
        <span>
          <span class="key-bar" /> engine running
        </span>
      </p>
      <EventList lanes={lanes} onEvent={(moment) => change(() => ({ from: moment - 4, to: moment + 8 }))} />
    </section>
  );
}

function wholeRange(lanes: readonly Lane[]): Range {
  const from = Math.min(...lanes.map(({ clock: own }) => own.toCommon(0)));
  const to = Math.max(...lanes.map(({ clock: own, overview }) => own.toCommon(overview.lastSeconds)));
  return { from, to: to > from ? to : from + 1 };
}

function wantedRange(lanes: readonly Lane[], wanted: URLSearchParams): Range | null {
  const lane = lanes.find(({ source }) => source.recording.file === wanted.get("file"));
  const [from, to] = ["from", "to"].map((name) => Number(wanted.get(name) ?? Number.NaN));
  if (!lane || !Number.isFinite(from) || !Number.isFinite(to)) return null;
  const [start, end] = [lane.clock.toCommon(from!), lane.clock.toCommon(to!)];
  const margin = Math.max(end - start, 1);
  return { from: start - margin, to: end + margin };
}

/** At most the whole, at least a ten-millionth of it. */
function kept({ from, to }: Range, whole: Range): Range {
  const most = whole.to - whole.from;
  const width = Math.min(Math.max(to - from, most * 1e-7), most);
  const start = Math.min(Math.max(from, whole.from), whole.to - width);
  return { from: start, to: start + width };
}

interface LaneViewProps {
  readonly job: Job;
  readonly lane: Lane;
  readonly range: Range;
  readonly cursor: number | null;
  readonly onZoom: (factor: number, at: number) => void;
  readonly onPan: (by: number) => void;
  readonly onPoint: (at: number) => void;
}

function LaneView({ job, lane, range, cursor, onZoom, onPan, onPoint }: LaneViewProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const chart = useRef<TraceLane | null>(null);
  const [shown, setShown] = useState<TraceWindow | null>(null);
  const latest = useRef({ range, shown });
  latest.current = { range, shown };
  const handlers = useRef({ onZoom, onPan, onPoint });
  handlers.current = { onZoom, onPan, onPoint };
  const fetchWindow = useMemo(() => windowFetcher(lane, setShown), [lane]);
  const { recording } = lane.source;
  const unit = recording.quantity === "volts" ? "V" : "A";
  const look = theme.value;

  useEffect(() => {
    let current = true;
    let stop = () => {};
    void import("../charts/trace-lane.ts").then(({ TraceLane }) => {
      if (!current) return;
      const drawn = new TraceLane(canvas.current!, marksOf(lane), {
        unit,
        least: lane.overview.least,
        most: lane.overview.most,
      });
      chart.current = drawn;
      const now = latest.current;
      drawn.showRange(now.range.from, now.range.to);
      if (now.shown) drawn.showData(now.shown);
      stop = listenForGestures(canvas.current!, () => drawn.area(), {
        onZoom: (factor, at) => handlers.current.onZoom(factor, at),
        onPan: (by) => handlers.current.onPan(by),
        onPoint: (at) => handlers.current.onPoint(at),
      });
    });
    return () => {
      current = false;
      stop();
      chart.current?.destroy();
      chart.current = null;
    };
  }, [lane, look]);

  useEffect(() => {
    chart.current?.showRange(range.from, range.to);
    fetchWindow(range, canvas.current?.clientWidth ?? 600);
  }, [range, fetchWindow]);
  useEffect(() => {
    if (shown) chart.current?.showData(shown);
  }, [shown]);
  useEffect(() => chart.current?.showCursor(cursor), [cursor]);

  const value = cursor === null || !shown ? null : valueAt(shown, cursor);
  const words = `${placeOf(job, recording)}, ${recording.file}, ${count(lane.overview.samples)} samples`;
  return (
    <figure class="lane">
      <figcaption>
        <strong>{placeOf(job, recording)}</strong> <span class="field-note">{recording.file}</span>
        <output class="lane-value">{value === null ? "" : `${fixed(value, unit === "V" ? 3 : 2)} ${unit}`}</output>
        {!lane.clock.aligned && lane.entry && <span class="field-note">on its own clock</span>}
      </figcaption>
      <div class="lane-canvas">
        <canvas ref={canvas} role="img" aria-label={`Trace: ${words}`} />
      </div>
    </figure>
  );
}

/** Asks the worker for what is visible; while one question is out, only the latest range waits behind it. */
function windowFetcher(lane: Lane, onWindow: (window: TraceWindow) => void) {
  let waiting: { range: Range; pixels: number } | null = null;
  let asking = false;
  const ask = async (): Promise<void> => {
    asking = true;
    while (waiting) {
      const { range, pixels } = waiting;
      waiting = null;
      const margin = (range.to - range.from) * 0.25;
      const [from, to] = [lane.clock.toOwn(range.from - margin), lane.clock.toOwn(range.to + margin)];
      const window = await clerk()
        .traceWindow(lane.source, from, to, Math.round(pixels * 1.5))
        .catch(() => null);
      if (window) onWindow({ seconds: window.seconds.map(lane.clock.toCommon), values: window.values });
    }
    asking = false;
  };
  return (range: Range, pixels: number) => {
    waiting = { range, pixels };
    if (!asking) void ask();
  };
}

function marksOf({ entry, clock: own, source }: Lane): TraceMarks {
  return {
    plateaus: (entry?.plateaus ?? []).map((plateau) => ({
      ...plateau,
      startSeconds: own.toCommon(plateau.startSeconds),
      endSeconds: own.toCommon(plateau.endSeconds),
    })),
    events: (entry?.events ?? []).map((event) => ({ ...event, seconds: own.toCommon(event.seconds) })),
    labels: (source.recording.marks ?? []).map(({ seconds, label }) => ({ seconds: own.toCommon(seconds), label })),
  };
}

function valueAt({ seconds, values }: TraceWindow, moment: number): number | null {
  let nearest = -1;
  for (let index = 0; index < seconds.length; index++) {
    if (Number.isNaN(values[index]!)) continue;
    if (nearest < 0 || Math.abs(seconds[index]! - moment) < Math.abs(seconds[nearest]! - moment)) nearest = index;
  }
  return nearest < 0 ? null : values[nearest]!;
}

const eventWords = {
  keyed: radioWords.transmit,
  released: "released",
  "engine-start": "engine started",
  "engine-stop": "engine stopped",
  "load-reset": "set let go",
  "contact-break": "contact opened or shifted",
} as const;

function EventList({ lanes, onEvent }: { lanes: readonly Lane[]; onEvent: (moment: number) => void }) {
  const events = lanes.flatMap(({ entry, clock: own, source }) =>
    (entry?.events ?? []).map((event) => ({
      ...event,
      moment: own.toCommon(event.seconds),
      file: source.recording.file,
    })),
  );
  if (events.length === 0) return null;
  return (
    <details>
      <summary>{events.length} events</summary>
      <ul class="events">
        {events
          .sort((a, b) => a.moment - b.moment)
          .map(({ kind, moment, file, lowestVolts }) => (
            <li key={`${file} ${moment} ${kind}`}>
              <button type="button" class="plain" onClick={() => onEvent(moment)}>
                {clock(moment)} {eventWords[kind]}
                {lowestVolts === undefined ? "" : `, lowest ${fixed(lowestVolts, 2)} V`} ({file})
              </button>
            </li>
          ))}
      </ul>
    </details>
  );
}
