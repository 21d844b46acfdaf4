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
  const { overUnexplained, sign, untested, untoldRanges, unreadRanges } = best.hypothesis;
  if (overUnexplained > 0) return overRangeAgain;
  const open = new Map<string, number>();
  const ask = (question: string, weight: number) => open.set(question, (open.get(question) ?? 0) + weight);
  let doubtful: number | null = null;
  for (const rival of beliefs.slice(1).filter((belief) => belief.probability > 0.01)) {
    const parting = firstParting(best.readings, rival.readings);
    if (!parting) continue;
    doubtful ??= parting.seconds;
    for (const question of parting.questions)
      ask(question, question === otherRange && severalRanges(lesson) ? rival.probability / 4 : rival.probability);
  }
  if (untoldRanges || unreadRanges) ask(otherRange, 0.1);
  const hardly = hardlyTyped(lesson);
  if (hardly) ask(largerIn(hardly), 0.1);
  if (untested) ask(untested.beyond ? overRange : otherRange, 0.1);
  const reads = best.readings.some((reading) => "value" in reading && reading.value < 0);
  if (reads || sign === "never seen") ask(negative, 0.05);
  for (const question of answered(lesson)) open.delete(question);
  const question = inTurn(open, lesson);
  const moment = doubtful ?? untested?.seconds ?? null;
  if (question === null) return moment === null ? null : sameAgain(sinceStart(moment, lesson));
  return moment === null ? question : `${question} ${inDoubt(sinceStart(moment, lesson))}`;
}

/** What was typed already is not asked again. */
function answered({ numbers, overRangeSeconds }: Lesson): string[] {
  const out: string[] = [];
  if (numbers.some((typed) => typed.base < 0)) out.push(negative);
  if (numbers.some((typed) => Math.abs(typed.shown) < 10 * typed.step)) out.push(nearZero);
  if (overRangeSeconds.length > 0) out.push(overRange);
  return out;
}

/** Questions this far behind the first take their turns with it: a meter may have no over-range to show, and no other range. */
const nearlyAsGood = 0.3;

/** Of what is open the question that parts the most belief comes first, and others that part nearly as much in their turn. */
function inTurn(open: ReadonlyMap<string, number>, { numbers, overRangeSeconds }: Lesson): string | null {
  const order = [...open].sort((a, b) => b[1] - a[1]);
  const good = order.filter(([, weight]) => weight >= nearlyAsGood * order[0]![1]);
  const turn = Math.max(0, numbers.length + overRangeSeconds.length - 3);
  return good[turn % good.length]?.[0] ?? null;
}

const sinceStart = (seconds: number, { chunks }: Lesson): string => (seconds - (chunks[0]?.seconds ?? 0)).toFixed(0);
const inDoubt = (seconds: string): string => `In doubt is what it showed ${seconds} s into the recording.`;
const sameAgain = (seconds: string): string =>
  `Measure again what the display showed ${seconds} s into the recording, and type it.`;

/** Values with different decimals, or prefixes of the unit, came from different ranges: another of them tells little more. */
const severalRanges = ({ numbers }: Lesson): boolean => new Set(numbers.map(({ step, unit }) => step + unit)).size > 1;

const overRange =
  "Make the display show over-range (on the lowest range, or with a larger voltage than it takes), and mark it while it does.";
const largerIn = (unit: string): string =>
  `Measure something that the display shows in ${unit} and well above zero, and type what it shows.`;
/** Far from what was typed a factor shows whether it is a little off. */
export const clearlyUnlike =
  "Type a value that is clearly larger or smaller than those before, as soon as the display stands still.";
const nearZero = "Hold the probes together, and type what the display shows near zero.";
const overRangeAgain = "Make the display show over-range again for three seconds, and mark it while it does.";
const negative = "Swap the probes, and type the negative value that the display shows.";
const otherRange =
  "Measure something so much smaller or larger that the display changes its range (more or fewer decimals), and type what it shows.";

interface Parting {
  readonly seconds: number;
  /** in words that make the display show such a value */
  readonly questions: readonly string[];
}

/** The first moment at which two ways of reading part so that something could be asked. */
function firstParting(best: readonly Reading[], rival: readonly Reading[]): Parting | null {
  const others = new Map(rival.map((reading) => [reading.seconds, reading]));
  for (const reading of best) {
    const other = others.get(reading.seconds);
    const questions = other ? questionsFor(reading, other) : [];
    if (questions.length > 0) return { seconds: reading.seconds, questions };
  }
  return null;
}

function questionsFor(best: Reading, rival: Reading): string[] {
  if ("damaged" in best || "damaged" in rival) return [];
  if ("overRange" in best || "overRange" in rival) {
    if ("overRange" in best && "overRange" in rival) return [];
    const number = "value" in best ? best.value : "value" in rival ? rival.value : 0;
    return number < 0 ? [overRange, negative] : [overRange];
  }
  const [mine, its] = [toBase(best.value, best.unit), toBase(rival.value, rival.unit)];
  if (mine === its) return [];
  if (mine === -its || mine < 0 !== its < 0) return [negative];
  const ratio = Math.log10(mine / its);
  if (Math.abs(ratio) > 0.5 && Math.abs(ratio - Math.round(ratio)) < 0.01) return [otherRange];
  return Math.abs(mine) < 0.02 * Math.abs(its) ? [nearZero] : [];
}

function moreValues(lesson: Lesson): string {
  const values = lesson.numbers.map((typed) => Math.abs(typed.base));
  const narrow = Math.max(...values) < 1.5 * Math.min(...values);
  return narrow ? clearlyUnlike : "Type one more value, unlike those before, as soon as the display stands still.";
}
