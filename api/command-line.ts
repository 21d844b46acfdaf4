/**
 * `npm run --silent diagnose -- FOLDER_OR_ZIP … [--json] [--help]`: what goes in are job folders, what comes out is
 * a diagnosis of each on standard output; progress and what could not be done are on standard error.
 */
import { parseArgs } from "node:util";
import { Problem } from "../analysis/index.ts";
import { diagnoseFolder } from "./diagnose-folder.ts";
import { historyLines, historyUsage } from "./history.ts";
import { report, reportRequest, reportUsage } from "./report.ts";
import { diagnosisText } from "./text/diagnosis-text.ts";
import { handoverText } from "./text/handover-text.ts";
import { pageInAscii, safe, showsUtf8, wrapped } from "./text/page.ts";
import { startProgress } from "./text/progress.ts";
import { verifyRecord, verifyUsage } from "./verify-record.ts";

/** Exit statuses as `formats.md` section 2 says; 130 after Ctrl-C is the shell's custom. */
const exitStatus = { allDiagnosed: 0, someNotDiagnosed: 1, badUsage: 2, interrupted: 130 } as const;

const usage = "npm run --silent diagnose -- FOLDER_OR_ZIP ... [--verify] [--json] [--help]";

const help = `Finds which part of a 12 V supply circuit eats the volts, from meter logs.

Usage
  ${usage}
  npm run --silent diagnose -- report FOLDER_OR_ZIP --out RECORD.pdf
      [--paper a4|letter] [--units metric|imperial] [--short] [--date DAY]
      [--sign] [--without-customer]
  npm run --silent diagnose -- verify RECORD.pdf
  npm run --silent diagnose -- history FOLDER_OR_ZIP_OR_RECORD ...

  FOLDER_OR_ZIP  a job folder (job.json and the meter logs that it names), a zip
                 of one, or a record made of one as a PDF; several are diagnosed
                 one after the other
  report         the customer's record: a PDF with the job inside it, a page
                 (RECORD.html) or the job folder (JOB.zip); --short is page one
                 alone, for the invoice; --sign signs the PDF with the shop's
                 key, made when first needed and kept in DATA_DIR (data/);
                 --without-customer leaves out whose job it is, and where
  verify         whether what a record prints follows from the logs inside it
                 (a folder named report or verify is given as ./report)
  history        the jobs of one vehicle over time: each visit's result, ohms of
                 each part, and which part gets worse
  --verify       whether a finished install may be handed over: readings taken
                 and missing, every check of fuse and wire with its limit and
                 source, the checklist, and each round against those before it
  --json         one JSON object a line instead of text, one line a folder, in
                 the order given; a folder that cannot be diagnosed has the line
                 {"folder": ..., "error": {"message", "file"?, "line"?, ...}}
  --help         this text

What it prints for each round of measurements
  the result in a sentence; the volts lost round the circuit, measured against
  expected; what was found, how sure, what speaks for it, how to mend it and
  what should be read afterwards; the reading worth taking next and why; the
  worst case; what was measured; checks of fuse and wire; before against after.

Exit status
  0  every folder was diagnosed, the record is written, or all of it follows
  1  some folder could not be (why: on standard error, or in its JSON line),
     the record could not be written, or something in it does not follow
  2  not called as above
  130  interrupted with Ctrl-C

Marks beyond ASCII are left out where LC_ALL, LC_CTYPE or LANG name a character
set other than UTF-8. Nothing but RECORD is written, and nothing leaves this
machine. The program advises and the person decides: the maker's instructions,
local codes and licensed practice come first.
`;

interface Asked {
  readonly folders: readonly string[];
  readonly json: boolean;
  readonly verify: boolean;
}

function asked(words: string[]): Asked | "help" | { wrong: string } {
  try {
    const { values, positionals } = parseArgs({
      args: words,
      allowPositionals: true,
      options: { json: { type: "boolean" }, verify: { type: "boolean" }, help: { type: "boolean", short: "h" } },
    });
    if (values.help) return "help";
    if (positionals.length === 0) return { wrong: "there should be a job folder or a zip of one to diagnose" };
    return { folders: positionals, json: values.json ?? false, verify: values.verify ?? false };
  } catch (error) {
    return { wrong: (error as Error).message.split(/[.\n]/)[0]! };
  }
}

const utf8 = showsUtf8(process.env);

function print(lines: readonly string[]): void {
  process.stdout.write(`${(utf8 ? lines : pageInAscii(lines)).join("\n")}\n`);
}

/** The diagnosis of one folder, printed; false when there is none, which is said in one sentence. */
async function diagnoseOne(folder: string, { json, verify }: Asked): Promise<boolean> {
  const progress = startProgress(process.stderr, safe(folder));
  try {
    const { job, ...full } = await diagnoseFolder(folder, progress.show);
    progress.end();
    if (json) print([JSON.stringify(full.diagnosis)]);
    else print(verify ? handoverText(job, full) : diagnosisText(job, full.diagnosis));
    return true;
  } catch (error) {
    progress.end();
    const { message, place } = asProblem(error);
    if (json) print([JSON.stringify({ folder, error: { message, ...place } })]);
    else process.stderr.write(`${safe(`${folder}: ${message}`)}\n`);
    return false;
  }
}

/** Whatever else goes wrong is this program's own fault, and is said to be. */
function asProblem(error: unknown): Problem {
  if (error instanceof Problem) return error;
  return new Problem(
    `this program failed on it, which it never should; please report it (${String(error).split("\n")[0]})`,
  );
}

/** What needs one file and gives one answer; a Problem is said in one sentence. */
async function recordCommand(work: () => Promise<boolean>): Promise<number> {
  try {
    return (await work()) ? exitStatus.allDiagnosed : exitStatus.someNotDiagnosed;
  } catch (error) {
    process.stderr.write(`${safe(asProblem(error).message)}\n`);
    return exitStatus.someNotDiagnosed;
  }
}

async function reportCommand(words: string[]): Promise<number> {
  let request: ReturnType<typeof reportRequest>;
  try {
    request = reportRequest(words, new Date().toISOString().slice(0, 10));
  } catch (error) {
    return badUsage((error as Error).message.split(/[.\n] /)[0]!, reportUsage);
  }
  return recordCommand(async () => {
    const leftOut = await report(request);
    if (leftOut.length > 0) process.stderr.write(`${safe(`Left out: ${leftOut.join("; ")}.`)}\n`);
    return true;
  });
}

async function verifyCommand(words: string[]): Promise<number> {
  const [path] = words;
  if (path === undefined || words.length > 1) return badUsage("there should be one record to verify", verifyUsage);
  return recordCommand(async () => {
    const { follows, lines } = await verifyRecord(path);
    print(lines.flatMap((line) => wrapped(/^ */.exec(line)![0], line)));
    return follows;
  });
}

async function historyCommand(paths: string[]): Promise<number> {
  if (paths.length === 0) return badUsage("there should be jobs of a vehicle to lay side by side", historyUsage);
  return recordCommand(async () => {
    const progress = startProgress(process.stderr, "history");
    try {
      const lines = await historyLines(paths, (what) => progress.show(0, what));
      progress.end();
      print(lines);
    } finally {
      progress.end();
    }
    return true;
  });
}

function badUsage(wrong: string, right: string): number {
  process.stderr.write(`${safe(wrong)}\nUsage: ${right}\n`);
  return exitStatus.badUsage;
}

async function main(words: string[]): Promise<number> {
  const [first, ...rest] = words;
  if (!words.includes("--help") && first === "report") return reportCommand(rest);
  if (!words.includes("--help") && first === "verify") return verifyCommand(rest);
  if (!words.includes("--help") && first === "history") return historyCommand(rest);
  const request = asked(words);
  if (request === "help") {
    process.stdout.write(help);
    return exitStatus.allDiagnosed;
  }
  if ("wrong" in request) {
    return badUsage(request.wrong, usage);
  }
  let status: number = exitStatus.allDiagnosed;
  for (const folder of request.folders) {
    if (!(await diagnoseOne(folder, request))) status = exitStatus.someNotDiagnosed;
  }
  return status;
}

// A reader that has seen enough (`| head`) closes the pipe: nothing is wrong, and there is nobody to tell.
process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  process.exit(error.code === "EPIPE" ? exitStatus.allDiagnosed : exitStatus.someNotDiagnosed);
});

// Without an await at the top of the file, so that the bundle can be compiled ahead of the next start.
main(process.argv.slice(2)).then((status) => {
  process.exitCode = status;
});
