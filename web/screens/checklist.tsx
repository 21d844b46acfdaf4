/** The mechanical checklist, a question a line, answered with a thumb. */
import { useId } from "preact/hooks";
import { type Job, mechanicalChecklist, type Round } from "../../analysis/index.ts";
import { answer } from "../job/repair-round.ts";
import { capital } from "../words/shown.ts";

const parts = [
  ["before power", "Before the power is on"],
  ["finished", "When it is finished"],
] as const;

const answers = [
  ["Yes", true],
  ["No", false],
] as const;

export function Checklist({ document, entry }: { document: Job; entry: Round }) {
  const given = entry.checks ?? {};
  const open = mechanicalChecklist.filter(({ id }) => given[id] === undefined).length;
  return (
    <section class="sheet" aria-labelledby="checklist-heading">
      <h2 id="checklist-heading">Checklist</h2>
      <p role="status">
        {open === 0 ? "Every question is answered." : `${open} of ${mechanicalChecklist.length} open.`}
      </p>
      {parts.map(([when, heading]) => (
        <div key={when} class="questions">
          <h3>{heading}</h3>
          {mechanicalChecklist
            .filter((question) => question.when === when)
            .map(({ id, words }) => (
              <Question
                key={id}
                words={capital(words)}
                given={given[id] ?? null}
                earlier={earlierAnswer(document, entry.round, id)}
                onAnswer={(now) => answer(entry.round, id, now)}
              />
            ))}
        </div>
      ))}
    </section>
  );
}

/** What was answered in an earlier round, where this one has not asked again. */
function earlierAnswer(document: Job, round: string, id: string): boolean | null {
  const upTo = document.rounds.findIndex((entry) => entry.round === round);
  const earlier = document.rounds.slice(0, Math.max(0, upTo)).findLast(({ checks }) => checks?.[id] !== undefined);
  return earlier?.checks?.[id] ?? null;
}

interface QuestionProps {
  readonly words: string;
  readonly given: boolean | null;
  readonly earlier: boolean | null;
  /** null takes the answer back */
  readonly onAnswer: (given: boolean | null) => void;
}

function Question({ words, given, earlier, onAnswer }: QuestionProps) {
  const id = useId();
  return (
    <fieldset class="question" aria-describedby={earlier !== null && given === null ? id : undefined}>
      <legend>{words}</legend>
      <div>
        {answers.map(([word, value]) => (
          <button
            key={word}
            type="button"
            class={`answer-${word.toLowerCase()}`}
            aria-pressed={given === value}
            onClick={() => onAnswer(given === value ? null : value)}
          >
            {word}
          </button>
        ))}
      </div>
      {earlier !== null && given === null && (
        <p class="field-note" id={id}>
          Answered {earlier ? "yes" : "no"} in an earlier round.
        </p>
      )}
    </fieldset>
  );
}
