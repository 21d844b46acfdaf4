/**
 * Readings that contradict the others: what no cause explains is named as suspect instead of being explained by a fault.
 */
import type { Job } from "../job/job.ts";
import type { ExpectedPart } from "../loop/expected-part.ts";
import type { Reading } from "../reading/reading.ts";
import type { Condition } from "./condition.ts";
import { believe, type Posterior } from "./posterior.ts";

export interface CheckedPosterior {
  readonly posterior: Posterior;
  /** readings set aside because nothing explains them beside the others */
  readonly suspects: readonly Reading[];
}

/** A reading this many of its doubts from the best explanation is not explained by it. */
const suspectDeviations = 4.5;
/** Setting readings aside must leave enough to stand on. */
const mostSuspects = 3;
const leastReadings = 4;

/**
 * Belief, with each reading that the best explanation leaves far off set aside, the worst first.
 * A reading is set aside only where the others then agree clearly better; two that disagree name the later.
 */
export function believeChecked(
  job: Job,
  expected: readonly ExpectedPart[],
  readings: readonly Reading[],
  asked: readonly Condition[],
): CheckedPosterior {
  let kept = [...readings];
  let posterior = believe(job, expected, kept, asked);
  const suspects: Reading[] = [];
  while (suspects.length < mostSuspects && kept.length > leastReadings) {
    const worst = worstExplained(posterior);
    if (worst === null) break;
    const without = kept.filter((reading) => reading !== worst);
    const next = believe(job, expected, without, asked);
    if (largestMiss(next) > suspectDeviations / 1.5) break;
    suspects.push(worst);
    kept = without;
    posterior = next;
  }
  return { posterior, suspects };
}

function worstExplained(posterior: Posterior): Reading | null {
  const { fit } = posterior.beliefs[0]!;
  const misses = [...fit.residuals].map(Math.abs);
  const most = Math.max(0, ...misses);
  return most > suspectDeviations ? posterior.setting.prepared[misses.indexOf(most)]!.reading : null;
}

const largestMiss = ({ beliefs }: Posterior): number => Math.max(0, ...[...beliefs[0]!.fit.residuals].map(Math.abs));
