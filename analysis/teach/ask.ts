/** The display value to type next, in the technician's words, where it would settle something. */
import type { Belief } from "./belief.ts";
import type { Reading } from "./recipe.ts";
import { hardlyTyped, type Lesson, toBase } from "./teach-input.ts";

const enough = 0.97;

export function askFor(lesson: Lesson, beliefs: readonly Belief[]): string | null {
  const bytes = lesson.chunks.reduce((sum, chunk) => sum + chunk.bytes.length, 0);
  if (bytes < 4) return "Let the meter send for a while as it measures; nothing that could be a reading has come yet.";
  if (lesson.numbers.length === 0)
    return "Type the value that the display shows, with its unit, while the meter measures.";
  const best = beliefs[0];
  if (!best)
    return "Type three more values that differ clearly from each other, each as soon as the display stands still.";
  return openQuestion(lesson, best, beliefs) ?? (best.probability < enough ? moreValues(lesson) : null);
}

function openQuestion(lesson: Lesson, best: Belief, beliefs: readonly Belief[]): string | null {
  const { overUnexplained, sign, untested, untoldRanges } = best.hypothesis;
  if (overUnexplained > 0) return overRangeAgain;
  // Of what is open the question that parts the most belief comes first; what was typed already is not asked again.
  const open = new Map<string, number>();
  const ask = (question: string, weight: number) => open.set(question, (open.get(question) ?? 0) + weight);
  for (const rival of beliefs.slice(1).filter((belief) => belief.probability > 0.01)) {
    const question = separating(best.readings, rival.readings);
    if (question)
      ask(question, question === otherRange && severalRanges(lesson) ? rival.probability / 4 : rival.probability);
  }
  if (untoldRanges) ask(otherRange, 0.1);
  const hardly = hardlyTyped(lesson);
  if (hardly) ask(largerIn(hardly), 0.1);
  if (untested) ask(untested.beyond && lesson.overRangeSeconds.length === 0 ? overRange : otherRange, 0.1);
  const reads = best.readings.some((reading) => "value" in reading && reading.value < 0);
  if (reads || sign === "never seen") ask(negative, 0.05);
  if (lesson.numbers.some((typed) => typed.base < 0)) open.delete(negative);
  if (lesson.numbers.some((typed) => Math.abs(typed.shown) < 10 * typed.step)) open.delete(nearZero);
  return [...open].sort((a, b) => b[1] - a[1])[0]?.[0] ?? null;
}

/** Values with different decimals, or prefixes of the unit, came from different ranges: another of them tells little more. */
const severalRanges = ({ numbers }: Lesson): boolean => new Set(numbers.map(({ step, unit }) => step + unit)).size > 1;

const overRange =
  "Make the display show over-range (on the lowest range, or with a larger voltage than it takes), and mark it while it does.";
const largerIn = (unit: string): string =>
  `Measure something that the display shows in ${unit} and well above zero, and type what it shows.`;
const nearZero = "Hold the probes together, and type what the display shows near zero.";
const overRangeAgain = "Make the display show over-range again for three seconds, and mark it while it does.";
const negative = "Swap the probes, and type the negative value that the display shows.";
const otherRange =
  "Measure something so much smaller or larger that the display changes its range (more or fewer decimals), and type what it shows.";

/** The first moment at which two ways of reading part, in words that make the display show such a value. */
function separating(best: readonly Reading[], rival: readonly Reading[]): string | null {
  const others = new Map(rival.map((reading) => [reading.seconds, reading]));
  for (const reading of best) {
    const other = others.get(reading.seconds);
    if (!other || "damaged" in reading || "damaged" in other) continue;
    if ("overRange" in reading || "overRange" in other) {
      if ("overRange" in reading && "overRange" in other) continue;
      return overRange;
    }
    const [mine, its] = [toBase(reading.value, reading.unit), toBase(other.value, other.unit)];
    if (mine === its) continue;
    if (mine === -its || mine < 0 !== its < 0) return negative;
    const ratio = Math.log10(mine / its);
    if (Math.abs(ratio) > 0.5 && Math.abs(ratio - Math.round(ratio)) < 0.01) return otherRange;
    if (Math.abs(mine) < 0.02 * Math.abs(its)) return nearZero;
  }
  return null;
}

function moreValues(lesson: Lesson): string {
  const values = lesson.numbers.map((typed) => Math.abs(typed.base));
  const narrow = Math.max(...values) < 1.5 * Math.min(...values);
  return narrow
    ? "Type a value that is clearly larger or smaller than those before, as soon as the display stands still."
    : "Type one more value, unlike those before, as soon as the display stands still.";
}
