/** The record's evidence: the circuit, readings with their uncertainty and meters, parts, causes and the worst case. */
import type { Diagnosis, Q, RoundDiagnosis } from "../diagnosis.ts";
import type { Job, LoopItem, Recording, TypedReading } from "../job/job.ts";
import type { MeterAccuracy } from "../job/meter.ts";
import { jobInRound } from "../job/round.ts";
import { isPart, partsOf } from "../job/route.ts";
import { engineWords, kindWords, legWords, radioWords } from "../plain-words.ts";
import { fixed, notKnown, percent, plainVolts, withInterval } from "../round-for-print.ts";
import type { Block, RecordStamp, Section } from "./record-model.ts";
import { findingName, partName, pointName, words, worstCaseSentence } from "./record-words.ts";

/** Causes less probable than this are counted, not listed. */
const worthListing = 0.02;

export function evidenceSections(job: Job, diagnosis: Diagnosis, stamp: RecordStamp): Section[] {
  const { headings } = words;
  return [
    ...diagnosis.rounds.map((round) => ({
      heading: words.inRound(headings.readings, round.round),
      blocks: measuredBlocks(job, round),
    })),
    ...(job.meters.length > 0 ? [{ heading: headings.meters, blocks: [metersTable(job)] }] : []),
    { heading: headings.parts, blocks: partsBlocks(job, diagnosis, stamp) },
    ...diagnosis.rounds.map((round) => ({
      heading: words.inRound(headings.causes, round.round),
      blocks: causesBlocks(jobInRound(job, round.round), round),
    })),
    ...diagnosis.rounds.map((round) => ({
      heading: words.inRound(headings.worst, round.round),
      blocks: [{ kind: "paragraph", text: worstCaseSentence(jobInRound(job, round.round), round) } as const],
    })),
  ];
}

function measuredBlocks(job: Job, round: RoundDiagnosis): Block[] {
  const states: Block = {
    kind: "table",
    head: words.tables.states,
    shares: [20, 16, 16, 16, 16, 16],
    rows: round.states.map(({ engine, radio, ...state }) => [
      `${radioWords[radio]}, ${engineWords[engine]}`,
      withInterval(state.batteryVolts, "V"),
      withInterval(state.loadVolts, "V"),
      withInterval(state.amps, "A"),
      withInterval(state.supplyDropVolts, "V"),
      withInterval(state.returnDropVolts, "V"),
    ]),
  };
  const taken = [...recordingRows(job, round), ...readingRows(job, round.round)];
  const { openCircuitVolts, ohms, runningVolts } = round.source;
  const source = (
    [
      [words.atRest, openCircuitVolts, "V"],
      [words.ownResistance, ohms, "Ω"],
      [words.engineRunning, runningVolts, "V"],
    ] as [(figure: string) => string, Q, "V" | "Ω"][]
  ).flatMap(([said, quantity, unit]) => (quantity ? [said(withInterval(quantity, unit))] : []));
  return [
    { kind: "paragraph", text: words.coverage },
    ...(states.rows.length > 0 ? [states] : []),
    ...(source.length > 0 ? [{ kind: "paragraph", text: words.battery(source.join("; ")) } as const] : []),
    ...(taken.length > 0
      ? [
          {
            kind: "table",
            head: words.tables.readings,
            shares: [28, 22, 17, 15, 18],
            rows: taken,
          } as const,
        ]
      : []),
  ];
}

/** One row for each state that a log was in, in the order in which it first was. */
function recordingRows(job: Job, round: RoundDiagnosis): string[][] {
  const own = job.recordings.filter((recording) => recording.round === round.round);
  return round.recordings.flatMap((entry, index) => {
    const recording = own[index];
    if (!recording) return [];
    const states = new Map<string, number[]>();
    for (const { engine, radio, value } of entry.plateaus) {
      const state = [radio && radioWords[radio], engine && engineWords[engine]].filter(Boolean).join(", ");
      const known = state || words.stateNotKnown;
      states.set(known, [...(states.get(known) ?? []), value]);
    }
    const unit = recording.quantity === "amps" ? "A" : "V";
    return [...states].map(([state, values]) => [
      placeOf(job, recording),
      state,
      rangeOf(values, unit),
      meterName(job, recording.meter),
      entry.file,
    ]);
  });
}

function rangeOf(values: readonly number[], unit: string): string {
  const low = fixed(Math.min(...values), 3);
  const high = fixed(Math.max(...values), 3);
  return low === high ? `${low} ${unit}` : words.range(low, high, unit);
}

function readingRows(job: Job, round: string): string[][] {
  return job.readings
    .filter((reading) => reading.round === round)
    .map((reading) => [
      placeOf(job, reading),
      [reading.radio && radioWords[reading.radio], reading.engine && engineWords[reading.engine]]
        .filter(Boolean)
        .join(", ") || words.stateNotKnown,
      typedValue(reading),
      meterName(job, reading.meter),
      reading.held ? words.held(reading.held) : words.typed,
    ]);
}

function typedValue({ volts, amps, rippleVolts }: TypedReading): string {
  const minus = (value: number) => String(value).replace("-", "−");
  if (volts !== undefined) return `${minus(volts)} V`;
  if (amps !== undefined) return `${minus(amps)} A`;
  return rippleVolts === undefined ? notKnown : words.ripple(rippleVolts);
}

function placeOf(job: Job, { from, to, through }: Pick<Recording, "from" | "to" | "through">): string {
  if (through !== undefined) return words.clampOn(partName(job, through));
  return from === undefined || to === undefined ? notKnown : words.between(pointName(from), pointName(to));
}

const meterName = (job: Job, id: string | undefined): string =>
  job.meters.find((meter) => meter.id === id)?.label ?? id ?? words.meterNotNamed;

function metersTable(job: Job): Block {
  const accuracy = (range: MeterAccuracy | undefined, unit: string) =>
    range ? `${range.percentOfReading} % + ${range.counts} × ${range.resolution} ${unit}` : notKnown;
  return {
    kind: "table",
    head: words.tables.meters,
    shares: [30, 27, 25, 18],
    rows: job.meters.map(({ id, label, volts, amps, calibratedOn }) => [
      label ?? id,
      accuracy(volts, "V"),
      accuracy(amps, "A"),
      calibratedOn ?? notKnown,
    ]),
  };
}

function partsBlocks(job: Job, { rounds, comparison }: Diagnosis, { units }: RecordStamp): Block[] {
  const last = rounds.at(-1);
  if (!last) return [{ kind: "paragraph", text: words.nothingMeasured }];
  const now = jobInRound(job, last.round);
  const declared = new Map(partsOf(now).map((part) => [part.id, itemWords(part, units)]));
  const state: Block = {
    kind: "table",
    head: words.tables.parts,
    shares: [17, 21, 12, 16, 19, 15],
    rows: last.parts.map(({ id, leg, expectedOhms, ohms, dropVolts }) => [
      partName(now, id),
      declared.get(id) ?? notKnown,
      legWords[leg],
      withInterval(expectedOhms, "Ω"),
      withInterval(ohms, "Ω"),
      withInterval(dropVolts, "V"),
    ]),
  };
  if (!comparison) return [state];
  return [
    {
      kind: "table",
      head: words.changes(comparison.from, comparison.to),
      shares: [28, 28, 28, 16],
      rows: comparison.parts.map(({ id, ohmsBefore, ohmsAfter, changeIsReal }) => [
        partName(now, id),
        withInterval(ohmsBefore, "Ω"),
        withInterval(ohmsAfter, "Ω"),
        percent(changeIsReal),
      ]),
    },
    state,
  ];
}

const metresPerFoot = 0.3048;

/** A wire's length in the units chosen; its gauge as the job declares it. */
function itemWords(item: LoopItem, units: RecordStamp["units"]): string {
  if (units === "imperial" && isPart(item) && item.part === "wire") {
    return kindWords(item).replace(/, [^,]* m$/, words.feet(Number((item.metres / metresPerFoot).toPrecision(3))));
  }
  return kindWords(item);
}

function causesBlocks(job: Job, { findings }: RoundDiagnosis): Block[] {
  const listed = findings.filter(({ probability }, index) => index === 0 || probability >= worthListing);
  if (listed.length === 0) return [{ kind: "paragraph", text: words.nothingMeasured }];
  return [
    {
      kind: "table",
      head: words.tables.causes,
      shares: [48, 13, 13, 26],
      rows: listed.map((finding) => [
        findingName(job, finding),
        percent(finding.probability),
        finding.dropVolts === null ? notKnown : plainVolts(finding.dropVolts),
        finding.cause === "supply-sound" ? notKnown : withInterval(finding.afterRepair.loadVolts, "V"),
      ]),
    },
    { kind: "list", items: listed[0]!.evidence },
  ];
}
