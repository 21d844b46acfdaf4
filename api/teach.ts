/**
 * `npm run --silent teach -- FILE …`: what goes in are recordings of a meter's bytes with what its display showed
 * (formats.md section 4), what comes out is one JSON line a file, in the order given.
 */
import { readFileSync } from "node:fs";
import { parseArgs } from "node:util";
import { Problem, teach } from "../analysis/index.ts";

const exitStatus = { allTaught: 0, someNotTaught: 1, badUsage: 2 } as const;

const usage = "npm run --silent teach -- FILE ... [--help]";

const help = `Learns how a meter sends its readings, from recorded bytes and what its display showed.

Usage
  ${usage}

  FILE  a recording: {"format": "teach/1", "bytes": [{"seconds", "base64"}, ...],
        "typed": [{"seconds", "value", "unit"} or {"seconds", "overRange": true}, ...]}

Prints one JSON line a file, in the order given: {"format": "taught/1", "sure",
"recipe", "readings", "ask"}; a file that cannot be used has the line
{"file": ..., "error": {"message", "field"?, ...}}.

Exit status
  0  every file was read; "recipe": null says that nothing explains what was typed
  1  some file could not be used (why: in its line)
  2  not called as above
`;

/** A recording longer than this is none of a minute's teaching (our choice; some hundred times what a meter sends in one). */
const largestBytes = 64 * 1024 * 1024;

function documentOf(file: string): unknown {
  const text = textOf(file);
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new Problem(`should be JSON; ${(error as Error).message.split("\n")[0]}`);
  }
}

function textOf(file: string): string {
  let bytes: Buffer;
  try {
    bytes = readFileSync(file);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    const why: Record<string, string> = {
      ENOENT: "there is no such file",
      EISDIR: "should be a file; got a folder",
      EACCES: "may not be read by this user",
    };
    throw new Problem(why[code ?? ""] ?? `could not be read (${code})`);
  }
  if (bytes.length > largestBytes) {
    throw new Problem(
      `should be at most ${largestBytes / 1024 ** 2} MB; got ${Math.ceil(bytes.length / 1024 ** 2)} MB`,
    );
  }
  // JSON is UTF-8, with or without the mark that some editors put in front (RFC 8259, 8.1).
  return bytes.toString("utf8").replace(/^\uFEFF/, "");
}

function lineFor(file: string): { line: string; taught: boolean } {
  try {
    return { line: JSON.stringify(teach(documentOf(file))), taught: true };
  } catch (error) {
    const { message, place } = asProblem(error).at({ file });
    return { line: JSON.stringify({ file, error: { message, ...place } }), taught: false };
  }
}

/** Whatever else goes wrong is this program's own fault, and is said to be. */
function asProblem(error: unknown): Problem {
  if (error instanceof Problem) return error;
  return new Problem(
    `this program failed on it, which it never should; please report it (${String(error).split("\n")[0]})`,
  );
}

function filesAsked(words: string[]): string[] | "help" | { wrong: string } {
  try {
    const { values, positionals } = parseArgs({
      args: words,
      allowPositionals: true,
      options: { help: { type: "boolean", short: "h" } },
    });
    if (values.help) return "help";
    return positionals.length > 0 ? positionals : { wrong: "there should be a recording to learn from" };
  } catch (error) {
    return { wrong: (error as Error).message.split(/[.\n]/)[0]! };
  }
}

function main(words: string[]): number {
  const files = filesAsked(words);
  if (files === "help") {
    process.stdout.write(help);
    return exitStatus.allTaught;
  }
  if (!Array.isArray(files)) {
    process.stderr.write(`${files.wrong}\nUsage: ${usage}\n`);
    return exitStatus.badUsage;
  }
  let status: number = exitStatus.allTaught;
  for (const file of files) {
    const { line, taught } = lineFor(file);
    process.stdout.write(`${line}\n`);
    if (!taught) status = exitStatus.someNotTaught;
  }
  return status;
}

// A reader that has seen enough (`| head`) closes the pipe: nothing is wrong, and there is nobody to tell.
process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  process.exit(error.code === "EPIPE" ? exitStatus.allTaught : exitStatus.someNotTaught);
});

process.exitCode = main(process.argv.slice(2));
