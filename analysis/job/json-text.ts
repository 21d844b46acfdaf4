/**
 * JSON text → value, and where it is not JSON, the line and column at which it stops being so.
 * The engines' own messages differ and often name no place, so the place is found here, after a failure only.
 */
import { Problem } from "../problem.ts";

/**
 * @param text UTF-8 text already decoded; a byte order mark in front is passed over
 * @throws {Problem} with line and column, counted from 1, of the first character that cannot stand where it does
 */
export function parseJson(text: string, file: string): unknown {
  const json = text.startsWith("\uFEFF") ? text.slice(1) : text;
  try {
    return JSON.parse(json);
  } catch {
    throw firstFault(json, file);
  }
}

const space = /[ \t\n\r]*/y;
// biome-ignore lint/suspicious/noControlCharactersInRegex: JSON forbids exactly these inside a string
const string = /"(?:[^"\\\u0000-\u001f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"/y;
const scalar = /(?:-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?|true|false|null)(?![\w.+-])/y;

/** Reads as JSON.parse does and stops at the first thing out of place; a stack, not recursion, so that depth cannot hurt. */
function firstFault(json: string, file: string): Problem {
  const open: ("{" | "[")[] = [];
  let at = 0;
  let expect: "value" | "key" | "key or }" | "value or ]" | "after" = "value";

  const skip = (pattern: RegExp): boolean => {
    pattern.lastIndex = at;
    if (!pattern.test(json)) return false;
    at = pattern.lastIndex;
    return true;
  };
  const take = (mark: string): boolean => {
    if (json[at] !== mark) return false;
    at++;
    return true;
  };

  for (;;) {
    skip(space);
    if (expect === "after") {
      const inside = open.at(-1);
      if (inside === undefined) return fault(json, at, "should end after its one value", file);
      if (take(",")) expect = inside === "{" ? "key" : "value";
      else if (take(inside === "{" ? "}" : "]")) open.pop();
      else return fault(json, at, `should go on with , or ${inside === "{" ? "}" : "]"}`, file);
    } else if (expect === "key" || expect === "key or }") {
      if (expect === "key or }" && take("}")) {
        open.pop();
        expect = "after";
        continue;
      }
      if (!skip(string)) return fault(json, at, "should have a field name in double quotes here", file);
      skip(space);
      if (!take(":")) return fault(json, at, "should have a colon after the field name", file);
      expect = "value";
    } else if (expect === "value or ]" && take("]")) {
      open.pop();
      expect = "after";
    } else if (take("{")) {
      open.push("{");
      expect = "key or }";
    } else if (take("[")) {
      open.push("[");
      expect = "value or ]";
    } else if (skip(string) || skip(scalar)) {
      expect = "after";
    } else {
      return fault(json, at, "should have a value here", file);
    }
  }
}

function fault(json: string, at: number, expected: string, file: string): Problem {
  const before = json.slice(0, at);
  const line = before.split("\n").length;
  const column = at - before.lastIndexOf("\n");
  return new Problem(`not JSON: ${expected}; got ${found(json, at)}`, { file, line, column });
}

function found(json: string, at: number): string {
  if (at >= json.length) return "the end of the file";
  if (json.startsWith("//", at) || json.startsWith("/*", at)) return "a comment, which JSON does not have";
  if (json[at] === "}" || json[at] === "]") return `${json[at]} (a comma too many before it, or something missing)`;
  if (json[at] === '"') return "a text with a broken escape, a line break inside, or no closing quote";
  const word = /^[\w.+-]{1,20}/.exec(json.slice(at, at + 20))?.[0];
  return `'${word ?? String.fromCodePoint(json.codePointAt(at)!)}'`;
}
