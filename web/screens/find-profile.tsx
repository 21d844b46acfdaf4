/** The potential profile of a result: expected and measured staircase, the round before, the cliff, the reading between two points. */
import { useSignal } from "@preact/signals";
import {
  expectedDropVolts,
  expectedParts,
  type Job,
  keyedState,
  measuredDrops,
  plainVolts,
  type Q,
  type RoundDiagnosis,
  valueForPrint,
} from "../../analysis/index.ts";
import { supposedAmps } from "../job/expected.ts";
import { openJob } from "../job/open-job.ts";
import { ProfileView } from "../pieces/profile-view.tsx";
import { verdictSentence } from "../pieces/verdict.tsx";
import { addressOf, go } from "../routes.ts";
import { nameOfPart } from "../words/reading-words.ts";
import { BetweenPoints } from "./between-points.tsx";

export function FindProfile({
  job,
  round,
  earlier,
}: {
  job: Job;
  round: RoundDiagnosis;
  earlier: RoundDiagnosis | null;
}) {
  const chosen = useSignal<readonly string[]>([]);
  const keyed = keyedState(round);
  const amps = keyed?.amps?.value ?? job.load.transmitAmps ?? supposedAmps;
  const expected = new Map(expectedParts(job).map((part) => [part.id, expectedDropVolts([part], amps)]));
  const measured = measuredDrops(round);
  const before = earlier && measuredDrops(earlier);
  const tap = (point: string) => {
    const now = chosen.value;
    chosen.value = now.includes(point) ? now.filter((other) => other !== point) : [...now.slice(-1), point];
  };
  return (
    <section aria-labelledby="profile-heading">
      <h2 id="profile-heading">Where the volts go, keyed{amps ? ` at ${amps.toFixed(1)} A` : ""}</h2>
      <p class="field-note">Tap two points for the reading between them.</p>
      <ProfileView
        job={job}
        expectedDropOf={(id) => expected.get(id) ?? null}
        measuredDropOf={(id) => measured.get(id) ?? null}
        earlierDropOf={before && ((id) => before.get(id) ?? null)}
        probedPoints={probedPoints(job, round.round)}
        cliff={cliffOf(job, round, measured)}
        suspects={new Set(round.findings[0]?.parts ?? [])}
        batteryWords={keyed?.batteryVolts ? valueForPrint(keyed.batteryVolts, "V") : ""}
        loadWords={keyed?.loadVolts ? `${valueForPrint(keyed.loadVolts, "V")} for the set` : ""}
        chosen={chosen.value}
        onPoint={tap}
        summary={verdictSentence(job, round)}
      />
      <BetweenPoints
        job={job}
        round={round}
        points={chosen.value}
        onTake={(from, to) => go(addressOf(openJob.value!.id, "measure", { type: "1", from, to }))}
      />
    </section>
  );
}

/** Where a probe has really been in this round. */
function probedPoints(job: Job, round: string): Set<string> {
  const measured = [...job.recordings, ...job.readings].filter((entry) => entry.round === round);
  return new Set(measured.flatMap(({ from, to }) => [from, to]).filter((point) => point !== undefined));
}

/** The part to hang the tag on: of the first finding's parts, the one that loses most. */
function cliffOf(job: Job, round: RoundDiagnosis, drops: ReadonlyMap<string, Q>): { id: string; label: string } | null {
  const [first] = round.findings;
  if (!first || first.parts.length === 0 || round.verdict === "sound") return null;
  const drop = (id: string): Q => drops.get(id) ?? null;
  const [worst] = [...first.parts].sort((a, b) => (drop(b)?.value ?? 0) - (drop(a)?.value ?? 0));
  const names = first.parts.map((id) => nameOfPart(job, id));
  const name =
    names.length > 2
      ? `${nameOfPart(job, worst!)} or ${names.length - 1} others`
      : names.join(first.cause.includes("connection") ? " or " : " and ");
  const perhaps = round.verdict === "undecided" ? "perhaps " : "";
  const lost = first.dropVolts === null ? "" : ` −${plainVolts(first.dropVolts)}`;
  return { id: worst!, label: `${perhaps}${name}${lost}` };
}
