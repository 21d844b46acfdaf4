/**
 * A page of 80 columns: text wrapped and indented, names made safe for a terminal, and, where the terminal
 * cannot show it, every mark beyond ASCII put as its nearest.
 */
export const pageColumns = 80;

/** Columns that a text takes: ideographs and kana take two (Unicode Standard Annex 11), marks that combine none. */
export function columnsOf(text: string): number {
  let columns = 0;
  for (const character of text) columns += widthOf(character);
  return columns;
}

const wide =
  /^[\p{Script=Han}\p{Script=Hiragana}\p{Script=Katakana}\p{Script=Hangul}\p{Emoji_Presentation}\uff01-\uff60]/u;
const combining = /^[\p{Mn}\p{Me}\u200b-\u200f]/u;
const widthOf = (character: string) => (wide.test(character) ? 2 : combining.test(character) ? 0 : 1);

/** Nothing that came from a file may move the cursor or change colours: control characters become a dot. */
export function safe(text: string): string {
  return text
    .replace(/\s+/g, " ")
    .replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Co}]/gu, "·")
    .trim();
}

/** Cut to a width, an ellipsis in place of what is lost, and filled up with blanks. */
export function cell(text: string, columns: number): string {
  return columnsOf(text) <= columns ? text + " ".repeat(columns - columnsOf(text)) : cut(text, columns);
}

function cut(text: string, columns: number): string {
  let kept = "";
  let used = 0;
  for (const character of text) {
    if (used + widthOf(character) > columns - 1) break;
    kept += character;
    used += widthOf(character);
  }
  return `${kept}…${" ".repeat(columns - used - 1)}`;
}

export function cellRight(text: string, columns: number): string {
  const filled = cell(text, columns);
  return columnsOf(text) < columns ? " ".repeat(columns - columnsOf(text)) + text : filled;
}

/**
 * Lines no longer than the page: the first begins with `lead`, the others stand under its text.
 * @example wrapped("  - ", "evidence that goes on for longer than a line …")
 */
export function wrapped(lead: string, text: string, columns = pageColumns): string[] {
  const room = Math.max(10, columns - columnsOf(lead));
  const lines: string[] = [];
  let line = "";
  for (const word of keptTogether(safe(text))
    .split(" ")
    .flatMap((long) => pieces(long, room))) {
    const longer = line === "" ? word : `${line} ${word}`;
    if (columnsOf(longer) <= room) {
      line = longer;
    } else {
      lines.push(line);
      line = word;
    }
  }
  lines.push(line);
  const indent = " ".repeat(columnsOf(lead));
  return lines.map((one, index) => (index === 0 ? lead : indent) + one.replaceAll(noBreak, " "));
}

const noBreak = "\u00a0";

/** A number stays with its unit, and an uncertainty with its value's last sign. */
const keptTogether = (text: string) =>
  text
    .replace(/(\d) (?=(?:V|mV|A|mΩ|Ω|s|%|m|mm²|AWG|°C)(?![\p{L}\d]))/gu, `$1${noBreak}`)
    .replaceAll("± ", `±${noBreak}`);

/** A word longer than the page is wide, in pieces that fit. */
function pieces(word: string, columns: number): string[] {
  if (columnsOf(word) <= columns) return [word];
  const found: string[] = [];
  let piece = "";
  for (const character of word) {
    if (columnsOf(piece) + widthOf(character) > columns) {
      found.push(piece);
      piece = "";
    }
    piece += character;
  }
  return [...found, piece];
}

const nearest = new Map(
  Object.entries({
    ...{ "█": "#", "▒": "=", "│": "|", "┊": ":", "·": ".", "▶": ">", "◂": "<", "─": "-", "═": "=", "…": "~" },
    ...{
      "−": "-",
      "–": "-",
      "—": "-",
      "±": "+/-",
      "\u03a9": "ohm",
      "\u2126": "ohm",
      "°": "deg ",
      "²": "2",
      "\u00b5": "u",
    },
    ...{ "×": "x", "≤": "<=", "≥": ">=", "≈": "about ", "→": "->", "’": "'", "‘": "'", "“": '"', "”": '"' },
    ...{ "\u00a0": " ", "\u202f": " " },
  }),
);

/** The same text in ASCII: known marks as their nearest, letters without their accents, anything else as `?`. */
export function inAscii(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: everything that is not ASCII is meant
  return text.replace(/[^\x00-\x7f]/gu, (mark) => nearest.get(mark) ?? plainLetter(mark));
}

function plainLetter(mark: string): string {
  const letter = mark.normalize("NFKD").replace(/\p{Mn}/gu, "");
  return /^[ -~]+$/.test(letter) ? letter : "?";
}

/** Lines for a terminal that shows no UTF-8; marks that grew longer may push words on to a line of their own. */
export function pageInAscii(lines: readonly string[]): string[] {
  return lines.map(inAscii).flatMap((line) => {
    if (line.length <= pageColumns) return line;
    const indent = /^ */.exec(line)![0];
    return wrapped(indent, line.trimStart());
  });
}

/** A terminal is taken to show UTF-8 unless its locale says otherwise (POSIX: LC_ALL, then LC_CTYPE, then LANG). */
export function showsUtf8(environment: Readonly<Record<string, string | undefined>>): boolean {
  const locale = environment.LC_ALL || environment.LC_CTYPE || environment.LANG;
  return locale === undefined || locale === "" || /utf-?8/i.test(locale);
}
