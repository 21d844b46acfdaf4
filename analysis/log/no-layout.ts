/**
 * What is said of a file in which no rows of numbers are found, or whose head ends within a quote.
 */
import { Problem } from "../problem.ts";
import type { HeadRecord } from "./layout.ts";

export function noLayout(file: string, lines: number, delimiter: string | null): Problem {
  const none = `no rows of numbers were found in ${lines} ${lines === 1 ? "line" : "lines"}`;
  if (delimiter === null)
    return new Problem(`${none}; the log should be text in columns with numbers in it`, { file, line: 1 });
  return new Problem(
    `${none} cut at the '${delimiter}' that the recording states; 'delimiter' should be the one between the log's cells`,
    {
      file,
      line: 1,
      field: "delimiter",
    },
  );
}

export function unclosedQuote(file: string, { text, line }: HeadRecord, delimiter: string): Problem {
  const column = text.slice(0, text.lastIndexOf('"') + 1).split(delimiter).length;
  const reason = "a quote is opened here and never closed; each quoted cell should end with a quote";
  return new Problem(reason, { file, line, column });
}
