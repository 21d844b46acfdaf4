/**
 * What counts as right: the cause, and the parts that the readings at hand cannot tell from the true one.
 */
import type { Cause, TrueFault, TrueRound } from "../../fixtures/recipe/truth.ts";

/** As much of a finding as is judged; the program and the rule of thumb both give it. */
export interface NamedCause {
  readonly cause: string;
  readonly parts: readonly string[];
  readonly probability: number;
}

const contacts: readonly Cause[] = ["high-resistance-connection", "intermittent-connection"];

const sameSet = (a: readonly string[], b: readonly string[]): boolean =>
  a.length === b.length && a.every((id) => b.includes(id));

/** The whole group and nothing else, as formats.md wants a finding's parts. */
export const isExact = (finding: NamedCause, fault: TrueFault): boolean =>
  finding.cause === fault.cause && sameSet(finding.parts, fault.group);

/** The true part is listed, and no part that a reading rules out. */
export function isWithin(finding: NamedCause, fault: TrueFault): boolean {
  if (finding.cause !== fault.cause) return false;
  if (!contacts.includes(fault.cause)) return true;
  return fault.parts.every((id) => finding.parts.includes(id)) && finding.parts.every((id) => fault.group.includes(id));
}

export interface Judgement {
  readonly exact: boolean;
  readonly within: boolean;
  readonly causeRight: boolean;
  readonly falseAlarm: boolean;
  readonly missed: boolean;
  readonly undecided: boolean;
  /** two faults: each among the findings at one half or more; null where there is one */
  readonly bothFound: boolean | null;
}

export function judge(round: TrueRound, findings: readonly NamedCause[], verdict: string): Judgement {
  const { faults } = round;
  const first = findings[0];
  const sound = faults.every((fault) => fault.cause === "supply-sound");
  const right = (test: (finding: NamedCause, fault: TrueFault) => boolean) =>
    first !== undefined && faults.some((fault) => test(first, fault));
  const found = (fault: TrueFault) => findings.some((item) => item.probability >= 0.5 && isWithin(item, fault));
  return {
    exact: right(isExact),
    within: right(isWithin),
    causeRight: right((finding, fault) => finding.cause === fault.cause),
    falseAlarm: sound && first?.cause !== "supply-sound",
    missed: !sound && first?.cause === "supply-sound",
    undecided: verdict === "undecided",
    bothFound: faults.length > 1 ? faults.every(found) : null,
  };
}
