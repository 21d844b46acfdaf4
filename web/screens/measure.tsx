/** Measure: the next reading on one card, the number pad, the logs, and what has been measured so far. */
import { useEffect } from "preact/hooks";
import { diagnosis, logTroubles } from "../job/diagnosis-now.ts";
import { addLogs, addRound, chooseRound, currentRound, rounds } from "../job/measuring.ts";
import { job, openJob } from "../job/open-job.ts";
import { photoFiles } from "../job/repair-round.ts";
import { LiveDoor } from "../measure/live-door.tsx";
import { bytesEnding } from "../meter/bytes-ending.ts";
import { Segments } from "../pieces/fields.tsx";
import { DropPlace, FileButton } from "../pieces/file-button.tsx";
import { NextReadingCard } from "../pieces/next-reading-card.tsx";
import { addressOf, route } from "../routes.ts";
import { firstReading } from "../words/reading-words.ts";
import { LogCard } from "./log-card.tsx";
import { MeasuredList } from "./measured-list.tsx";
import { ReadingEntry } from "./reading-entry.tsx";

export function MeasureScreen() {
  return route.value.query.has("live") ? <LiveDoor /> : <MeasureSheets />;
}

function MeasureSheets() {
  const document = job.value!;
  const round = currentRound.value;
  const { query } = route.value;
  const typing = query.has("type");
  const asked = query.toString();
  useEffect(() => {
    if (!typing) return;
    requestAnimationFrame(() => window.document.getElementById("type")?.scrollIntoView({ block: "start" }));
  }, [asked]);
  const found = diagnosis.value?.rounds.find((entry) => entry.round === round);
  const [next, ...also] = found ? found.nextReadings : [firstReading(document)];
  const photos = photoFiles(document);
  const files = Object.keys(openJob.value!.files).filter((file) => !photos.has(file) && !file.endsWith(bytesEnding));
  const take = (given: File[]) => void addLogs(given);

  return (
    <DropPlace onFiles={take}>
      <div class="two-sheets">
        <div class="stack">
          <h1>Measure</h1>
          <RoundChoice />
          {next ? (
            <NextReadingCard job={document} next={next} also={also} />
          ) : (
            <p class="notice">
              No further reading would change the answer.{" "}
              <a href={addressOf(openJob.value!.id, "find")}>See the result</a>
            </p>
          )}
          <a class="button" href={addressOf(openJob.value!.id, "measure", { live: "1" })}>
            Read a meter live
          </a>
          {typing && <ReadingEntry key={asked} job={document} query={query} />}
          {!typing && (
            <a class="button" href={addressOf(openJob.value!.id, "measure", { type: "1" })}>
              Type another reading
            </a>
          )}
        </div>
        <div class="stack">
          <section class="sheet" aria-labelledby="logs-heading">
            <h2 id="logs-heading">Logs</h2>
            <p class="field-note">
              Drop them here, paste their text, or pick several at once. They are kept as they are.
            </p>
            <FileButton words="Open logs" onFiles={take} />
            <ul class="stack">
              {files.map((file) => (
                <li key={file}>
                  <LogCard
                    file={file}
                    trouble={logTroubles.value.find((trouble) => trouble.file === file)?.message ?? null}
                  />
                </li>
              ))}
            </ul>
          </section>
          <MeasuredList job={document} round={round} />
          {(files.length > 0 || document.readings.length > 0) && (
            <a class="button main-action" href={addressOf(openJob.value!.id, "find")}>
              See the result
            </a>
          )}
        </div>
      </div>
    </DropPlace>
  );
}

function RoundChoice() {
  const measured = job.value!.recordings.length + job.value!.readings.length > 0;
  return (
    <div class="round-choice">
      {rounds.value.length > 1 && (
        <Segments
          label="Measured with the wiring as it was"
          value={currentRound.value}
          choices={rounds.value.map((round) => [round, round])}
          onValue={chooseRound}
        />
      )}
      {measured && (
        <button type="button" onClick={addRound}>
          Something was repaired: measure a new round
        </button>
      )}
    </div>
  );
}
