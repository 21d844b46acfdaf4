/** All that was typed in one round, each entry with a way to delete it. */
import { engineWords, fixed, type Job, radioWords, type TypedReading } from "../../analysis/index.ts";
import { removeReading } from "../job/measuring.ts";
import { placeOf } from "../words/reading-words.ts";

/** 'load + to load −, keyed, engine off: 11.62 V'. */
export function readingWords(job: Pick<Job, "loop">, reading: TypedReading): string {
  const state = [reading.radio && radioWords[reading.radio], reading.engine && engineWords[reading.engine]]
    .filter(Boolean)
    .join(", ");
  return `${placeOf(job, reading)}${state ? `, ${state}` : ""}: ${figure(reading)}`;
}

function figure({ volts, amps, rippleVolts, held }: TypedReading): string {
  const shown =
    amps !== undefined
      ? `${plain(amps)} A`
      : volts !== undefined
        ? `${plain(volts)} V`
        : rippleVolts !== undefined
          ? `${plain(rippleVolts)} V ripple`
          : "nothing";
  return held ? `${shown} (${held} held)` : shown;
}

/** As many digits as were typed, at most to the tenth of a millivolt. */
const plain = (value: number): string => fixed(value, Math.min(4, Math.max(1, `${value}`.split(".")[1]?.length ?? 0)));

export function MeasuredList({ job, round }: { job: Job; round: string }) {
  const typed = job.readings
    .map((reading, index) => ({ reading, index }))
    .filter(({ reading }) => reading.round === round);
  if (typed.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="typed-heading">
      <h2 id="typed-heading">Typed readings</h2>
      <ul class="measured">
        {typed.map(({ reading, index }) => (
          <li key={index}>
            <span>{readingWords(job, reading)}</span>
            <button
              type="button"
              aria-label={`Delete ${readingWords(job, reading)}`}
              onClick={() => removeReading(index, readingWords(job, reading))}
            >
              Delete
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}
