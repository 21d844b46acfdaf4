/** Repair: what was done and changed before this round, what the repair gave against the forecast, and whether the install may be handed over. */
import { useState } from "preact/hooks";
import { type Diagnosis, jobInRound, type RoundDiagnosis } from "../../analysis/index.ts";
import { diagnosis, handoverRemarks } from "../job/diagnosis-now.ts";
import { addRound, chooseRound, currentRound, rounds } from "../job/measuring.ts";
import { job, openJob } from "../job/open-job.ts";
import { roundOf } from "../job/repair-round.ts";
import { Segments } from "../pieces/fields.tsx";
import { ProtectionList } from "../pieces/protection-list.tsx";
import { addressOf } from "../routes.ts";
import { ChangedParts } from "./changed-parts.tsx";
import { Checklist } from "./checklist.tsx";
import { Handover } from "./handover.tsx";
import { Outcome } from "./outcome.tsx";
import { Photos } from "./photos.tsx";
import { WhatWasDone } from "./what-was-done.tsx";

export function RepairScreen() {
  const document = job.value!;
  const round = currentRound.value;
  const entry = roundOf(document, round);
  const before = rounds.value[rounds.value.indexOf(round) - 1] ?? null;
  const found = diagnosis.value;
  const measured = inDiagnosis(found, round);
  const place = found?.rounds.findIndex((one) => one.round === round) ?? -1;
  return (
    <>
      <h1>Repair and hand-over</h1>
      <RoundBar />
      <div class="two-sheets">
        <div class="stack">
          {before === null ? (
            <BeforeRepair round={measured} />
          ) : (
            <>
              <WhatWasDone key={round} document={document} entry={entry} earlier={inDiagnosis(found, before)} />
              <ChangedParts key={`${round} parts`} asItWas={jobInRound(document, before)} entry={entry} />
              <Outcome
                earlier={lastMeasuredBefore(found, before)}
                now={measured}
                comparison={found?.comparison ?? null}
              />
            </>
          )}
          <Photos key={`${round} photos`} entry={entry} />
        </div>
        <div class="stack">
          <Checklist document={document} entry={entry} />
          {measured && <Handover round={measured} remarks={handoverRemarks.value[place] ?? []} />}
          {measured && <ProtectionList checks={measured.protection} />}
          <a class="button main-action" href={addressOf(openJob.value!.id, "record")}>
            Leave the record
          </a>
        </div>
      </div>
    </>
  );
}

const inDiagnosis = (found: Diagnosis | null, round: string): RoundDiagnosis | null =>
  found?.rounds.find((entry) => entry.round === round) ?? null;

/** The round before, or where nothing was measured in it, the last one that was. */
function lastMeasuredBefore(found: Diagnosis | null, before: string): RoundDiagnosis | null {
  const upTo = rounds.value.slice(0, rounds.value.indexOf(before) + 1);
  return found?.rounds.findLast((entry) => upTo.includes(entry.round)) ?? null;
}

/** Which round this is about, and a new one after a repair. */
function RoundBar() {
  const [said, setSaid] = useState("");
  const measured = job.value!.recordings.length + job.value!.readings.length > 0;
  return (
    <div class="round-choice">
      {rounds.value.length > 1 && (
        <Segments
          label="Round"
          value={currentRound.value}
          choices={rounds.value.map((round) => [round, round])}
          onValue={chooseRound}
        />
      )}
      {measured && (
        <button
          type="button"
          onClick={() => {
            addRound();
            setSaid(`Round “${currentRound.value}” is begun: write down what was done, then measure again.`);
          }}
        >
          Something was repaired: start a new round
        </button>
      )}
      <p role="status" class="field-note">
        {said}
      </p>
    </div>
  );
}

/** The first round has nothing before it: what is to be mended, and what that should give. */
function BeforeRepair({ round }: { round: RoundDiagnosis | null }) {
  const [first] = round?.findings ?? [];
  return (
    <section class="sheet" aria-labelledby="to-do-heading">
      <h2 id="to-do-heading">To do</h2>
      {first ? (
        <>
          <p>{first.summary}</p>
          {first.repair && <p>{first.repair}</p>}
        </>
      ) : (
        <p>
          Nothing has been measured yet. <a href={addressOf(openJob.value!.id, "measure")}>Take the first reading</a>
        </p>
      )}
    </section>
  );
}
