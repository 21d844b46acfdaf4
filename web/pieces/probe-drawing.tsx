/** Where the probes go, on the circuit as a line: feed above in red, return below in ink, the battery left and the set right. */
import { isLoad, isPart, isPoint, type Job } from "../../analysis/index.ts";
import { pointName } from "../words/plain-words.ts";
import { nameOfPart, placeOf } from "../words/reading-words.ts";

interface Place {
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
}

const left = 34;
const right = 286;
const feedY = 40;
const returnY = 100;

export function ProbeDrawing({ job, place }: { job: Pick<Job, "loop">; place: Place }) {
  const load = job.loop.findIndex(isLoad);
  const legs = [job.loop.slice(0, load), job.loop.slice(load + 1).reverse()];
  return (
    <svg class="probe-drawing" viewBox="0 0 320 140" role="img" aria-label={`Drawing: ${placeOf(job, place)}`}>
      <path class="drawn-feed" d={`M${left} ${feedY}H${right}`} />
      <path class="drawn-return" d={`M${left} ${returnY}H${right}`} />
      <path
        class="drawn-quiet"
        d={`M${left} ${feedY}V60M${left - 12} 60h24M${left - 7} 68h14M${left - 12} 76h24M${left - 7} 84h14M${left} 84V${returnY}`}
      />
      <path class="drawn-quiet" d={`M${right} ${feedY}V56M${right - 16} 56h32v28h-32zM${right} 84V${returnY}`} />
      {legs.map((leg, index) => (
        <LegMarks key={index === 0 ? "feed" : "return"} leg={leg} y={index === 0 ? feedY : returnY} place={place} />
      ))}
    </svg>
  );
}

function LegMarks({ leg, y, place }: { leg: Job["loop"]; y: number; place: Place }) {
  const at = (index: number) => left + ((right - left) * index) / Math.max(1, leg.length - 1);
  return (
    <>
      {leg.map((item, index) => {
        if (isPoint(item)) {
          const probe = item.point === place.from ? "red" : item.point === place.to ? "black" : null;
          return (
            <g key={item.point}>
              <circle class="drawn-point" cx={at(index)} cy={y} r={probe ? 7 : 4} />
              {probe && <Probe x={at(index)} y={y} colour={probe} />}
            </g>
          );
        }
        if (!isPart(item)) return null;
        return item.id === place.through ? (
          <ellipse key={item.id} class="drawn-clamp" cx={at(index)} cy={y} rx="9" ry="17" />
        ) : (
          <path key={item.id} class="drawn-part" d={`M${at(index)} ${y - 4}v8`} />
        );
      })}
    </>
  );
}

/** A probe's tip on the point, its handle outwards, with + or − on it. */
function Probe({ x, y, colour }: { x: number; y: number; colour: "red" | "black" }) {
  const up = y === feedY ? -1 : 1;
  return (
    <g class={`drawn-probe drawn-probe-${colour}`}>
      <path d={`M${x} ${y + up * 5}l-5 ${up * 9}v${up * 20}h10v${up * -20}z`} />
      <text x={x} y={y + up * 27 + (up > 0 ? 3 : 5)} text-anchor="middle">
        {colour === "red" ? "+" : "−"}
      </text>
    </g>
  );
}

/** The same in words, the colours of the probes named. */
export function ProbeWords({ job, place }: { job: Pick<Job, "loop">; place: Place }) {
  if (place.through !== undefined) {
    return (
      <p class="clamp-words">
        Clamp round <strong>{nameOfPart(job, place.through)}</strong>, its arrow the way the current goes: from battery
        + round to battery −
      </p>
    );
  }
  const { from = "", to = "" } = place;
  return (
    <ul class="probe-words">
      <li>
        <span class="probe probe-red">red +</span> on <strong>{placeName(from)}</strong>
      </li>
      <li>
        <span class="probe probe-black">black −</span> on <strong>{placeName(to)}</strong>
      </li>
    </ul>
  );
}

const placeName = (point: string): string => (point ? pointName(point) : "…");
