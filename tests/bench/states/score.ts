/**
 * Scores what findStates made of a round against its truth: time in states, events, clocks.
 */
import type { EventKind, RecordingStates } from "../../../analysis/state/plateau.ts";
import type { KnownLog } from "./known-round.ts";
import { showsKeying } from "./visible.ts";

export interface Share {
  time: number;
  right: number;
  wrong: number;
  radioWrong: number;
  radioNull: number;
  engineWrong: number;
  engineNull: number;
}

export class Score {
  readonly share: Share = { time: 0, right: 0, wrong: 0, radioWrong: 0, radioNull: 0, engineWrong: 0, engineNull: 0 };
  readonly events = new Map<EventKind, { found: number; known: number; hits: number }>();
  readonly offsetErrors: number[] = [];
  readonly driftErrors: number[] = [];
  readonly worst: { where: string; seconds: number }[] = [];
  readonly undecided: { where: string; seconds: number }[] = [];
  readonly notes: string[] = [];
  concurrent = 0;
  /** of these the logs that show their keying, beside a first log that does */
  alignable = 0;
  alignedOfThese = 0;
  aligned = 0;
  within = 0;
  held = 0;
  milliseconds = 0;
  logs = 0;

  /** @param first the round's first log, by whose clock offsets count */
  add(where: string, log: KnownLog, states: RecordingStates, first: KnownLog): void {
    this.logs++;
    this.addTime(where, log, states);
    this.addEvents(where, log, states);
    if (log !== first && log.offsetSeconds !== null) this.addClock(where, log, states, first);
  }

  private addTime(where: string, log: KnownLog, states: RecordingStates): void {
    const last = log.samples.seconds[log.samples.seconds.length - 1] ?? 0;
    const near = 1.05 * log.samples.intervalSeconds + Math.min(log.samples.stampSeconds, 1);
    const judgeEngine = tellsEngine(log, states);
    const step = 0.1;
    let wrongSeconds = 0;
    let undecidedSeconds = 0;
    for (const truth of log.stretches) {
      const begin = Math.max(0, truth.start + near);
      const end = Math.min(last, truth.end - near);
      for (let at = begin + step / 2; at < end; at += step) {
        if (inPause(log, at)) continue;
        const plateau = states.plateaus.find((each) => at >= each.startSeconds && at < each.endSeconds);
        const radio = plateau?.radio ?? null;
        const engine = plateau?.engine ?? null;
        const radioWrong = radio !== null && radio !== truth.radio;
        const engineWrong = engine !== null && truth.engine !== null && engine !== truth.engine;
        const decided = radio !== null && (engine !== null || !judgeEngine || truth.engine === null);
        this.share.time += step;
        if (radioWrong) this.share.radioWrong += step;
        if (engineWrong) this.share.engineWrong += step;
        if (radio === null) this.share.radioNull += step;
        if (engine === null && judgeEngine) this.share.engineNull += step;
        if (radioWrong || engineWrong) {
          this.share.wrong += step;
          wrongSeconds += step;
        } else if (decided) this.share.right += step;
        else undecidedSeconds += step;
      }
    }
    if (wrongSeconds > 0) this.worst.push({ where, seconds: wrongSeconds });
    if (undecidedSeconds > 0) this.undecided.push({ where, seconds: undecidedSeconds });
  }

  private addEvents(where: string, log: KnownLog, states: RecordingStates): void {
    const allowed = log.samples.intervalSeconds * 1.05 + Math.min(log.samples.stampSeconds, 1);
    const used = new Set<number>();
    const engineTold = tellsEngine(log, states);
    for (const known of log.events) if (!known.kind.startsWith("engine") || engineTold) this.sum(known.kind).known++;
    for (const event of states.events) {
      const sum = this.sum(event.kind);
      sum.found++;
      const hit = log.events.findIndex(
        (known, i) =>
          !used.has(i) &&
          known.kind === event.kind &&
          event.seconds >= known.seconds - allowed &&
          event.seconds <=
            (known.kind === "engine-start" ? (known.endSeconds ?? known.seconds) : known.seconds) + allowed,
      );
      if (hit >= 0) {
        used.add(hit);
        sum.hits++;
      } else this.notes.push(`${where}: invented ${event.kind} at ${event.seconds.toFixed(2)}`);
    }
    log.events.forEach((known, i) => {
      if (!used.has(i)) this.notes.push(`${where}: missed ${known.kind} at ${known.seconds.toFixed(2)}`);
    });
  }

  private sum(kind: EventKind) {
    const sum = this.events.get(kind) ?? { found: 0, known: 0, hits: 0 };
    this.events.set(kind, sum);
    return sum;
  }

  private addClock(where: string, log: KnownLog, states: RecordingStates, first: KnownLog): void {
    this.concurrent++;
    const canBe = showsKeying(log) && showsKeying(first);
    if (canBe) this.alignable++;
    if (canBe && states.offsetSeconds !== null) this.alignedOfThese++;
    if (states.offsetSeconds === null) {
      this.notes.push(`${where}: not aligned: ${states.warnings.join("; ")}`);
      return;
    }
    this.aligned++;
    const error = states.offsetSeconds - log.offsetSeconds!;
    const interval = Math.max(first.samples.intervalSeconds, log.samples.intervalSeconds);
    this.offsetErrors.push(Math.abs(error) / interval);
    this.driftErrors.push(Math.abs(states.driftPpm! - log.driftPpm));
    if (Math.abs(error) <= interval) this.within++;
    if (Math.abs(error) <= 2 * states.offsetUncertaintySeconds!) this.held++;
    else
      this.notes.push(
        `${where}: offset off by ${error.toFixed(3)} ± ${states.offsetUncertaintySeconds!.toFixed(3)} (interval ${interval})`,
      );
  }

  print(title: string): void {
    const { share } = this;
    const of = (part: number) => percent(part, share.time);
    console.log(`${title}: ${this.logs} logs, ${(this.milliseconds / Math.max(this.logs, 1)).toFixed(1)} ms a log`);
    console.log(
      `    time right ${of(share.right)}, wrong ${of(share.wrong)}: radio wrong ${of(share.radioWrong)} undecided ${of(share.radioNull)}, ` +
        `engine wrong ${of(share.engineWrong)} undecided ${of(share.engineNull)}`,
    );
    for (const [kind, e] of this.events)
      console.log(
        `    ${kind}: precision ${percent(e.hits, e.found)} of ${e.found}, recall ${percent(e.hits, e.known)} of ${e.known}`,
      );
    if (this.concurrent === 0) return;
    console.log(
      `    aligned ${percent(this.alignedOfThese, this.alignable)} of ${this.alignable} that show their keying beside a first log that does ` +
        `(${percent(this.aligned, this.concurrent)} of all ${this.concurrent} concurrent), within one interval ${percent(this.within, this.aligned)}, ` +
        `truth within two uncertainties ${percent(this.held, this.aligned)}, median error ${middle(this.offsetErrors)} intervals, drift ${middle(this.driftErrors)} ppm`,
    );
  }

  printTrouble(most: number): void {
    const longest = (list: typeof this.worst) => list.toSorted((a, b) => b.seconds - a.seconds).slice(0, most);
    for (const { where, seconds } of longest(this.worst))
      console.log(`      wrong for ${seconds.toFixed(1)} s: ${where}`);
    for (const { where, seconds } of longest(this.undecided))
      console.log(`      undecided for ${seconds.toFixed(1)} s: ${where}`);
    for (const note of this.notes.slice(0, most)) console.log(`      ${note}`);
  }
}

/** A drop or a clamp by itself tells nothing of the engine: there "not known" is the right answer. */
function tellsEngine(log: KnownLog, states: RecordingStates): boolean {
  if (log.recording.engine !== undefined) return true;
  if (states.plateaus.some((plateau) => plateau.engine !== null)) return true;
  const { from, to } = log.recording;
  const supply = (point: string | undefined) => point?.endsWith("+") === true;
  const ground = (point: string | undefined) => point?.endsWith("-") === true;
  return (supply(from) && ground(to)) || (supply(to) && ground(from));
}

function inPause(log: KnownLog, at: number): boolean {
  const { seconds, intervalSeconds } = log.samples;
  let low = 0;
  let high = seconds.length - 1;
  while (low < high) {
    const middleIndex = (low + high) >> 1;
    if (seconds[middleIndex]! < at) low = middleIndex + 1;
    else high = middleIndex;
  }
  return low > 0 && seconds[low]! - seconds[low - 1]! > 3 * intervalSeconds + log.samples.stampSeconds;
}

const percent = (part: number, whole: number): string => (whole > 0 ? `${((100 * part) / whole).toFixed(2)} %` : "–");

function middle(values: readonly number[]): string {
  return values.length > 0 ? [...values].sort((a, b) => a - b)[values.length >> 1]!.toFixed(3) : "–";
}
