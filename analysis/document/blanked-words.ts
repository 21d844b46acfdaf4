/**
 * Words that are taken out of texts and logs, letter by letter: each is found in either case, as text and in the bytes of a
 * log in every encoding that logs come in, and an x stands for each of its letters, so that names that belong together still do.
 */
import { joined } from "./joined-bytes.ts";

/** Shorter words are only taken where they stand alone: 'Ann' is no part of 'channel'. */
const longWord = 5;

export interface BlankedWords {
  inText(text: string): string;
  /** @returns the same array where none of the words is in it */
  inBytes(bytes: Uint8Array): Uint8Array;
}

/** @param words each of at least one character; longer ones are looked for first */
export function blankedWords(words: readonly string[]): BlankedWords {
  const forms = [...new Set(words.flatMap((word) => [word.normalize("NFC"), word.normalize("NFD")]))].toSorted(
    (a, b) => b.length - a.length,
  );
  if (forms.length === 0) return { inText: (text) => text, inBytes: (bytes) => bytes };
  const pattern = new RegExp(forms.map(patternOf).join("|"), "giu");
  const ways = encodings.map((encoding) => ({ encoding, words: forms.map((word) => writtenIn(encoding, word)) }));
  return {
    inText: (text) => text.replace(pattern, (found) => "x".repeat([...found].length)),
    inBytes: (bytes) =>
      ways.reduce(
        (now, { encoding, words: written }) =>
          blankedBytes(
            now,
            written.flatMap((one) => one ?? []),
            encoding,
          ),
        bytes,
      ),
  };
}

function patternOf(word: string): string {
  const escaped = word.replace(/[\\^$.*+?()[\]{}|/]/g, "\\$&").replace(/\s+/g, "\\s+");
  return word.length >= longWord ? escaped : `(?<![\\p{L}\\p{N}])${escaped}(?![\\p{L}\\p{N}])`;
}

interface Encoding {
  /** bytes of one code unit */
  readonly unit: 1 | 2;
  /** null: it has no such character */
  write(character: string): readonly number[] | null;
  /** the character of one unit at a place; anything but a letter or digit where there is none */
  read(bytes: Uint8Array, at: number): string;
}

const utf16 = (low: 0 | 1): Encoding => ({
  unit: 2,
  write: (character) =>
    Array.from({ length: character.length }, (_, index) => character.charCodeAt(index)).flatMap((code) =>
      low === 0 ? [code & 0xff, code >> 8] : [code >> 8, code & 0xff],
    ),
  read: (bytes, at) => String.fromCharCode((bytes[at + low] ?? 0) | ((bytes[at + 1 - low] ?? 0) << 8)),
});

const oneByte = (bytes: Uint8Array, at: number): string => String.fromCharCode(bytes[at] ?? 0);

const encodings: readonly Encoding[] = [
  { unit: 1, write: (character) => [...new TextEncoder().encode(character)], read: oneByte },
  {
    unit: 1,
    write: (character) => (character.charCodeAt(0) < 0x100 ? [character.charCodeAt(0)] : null),
    read: oneByte,
  },
  utf16(0),
  utf16(1),
];

/** A word as it is written: for each character the byte sequences that may stand for it. */
interface Written {
  readonly characters: readonly (readonly (readonly number[])[])[];
  readonly alone: boolean;
}

function writtenIn(encoding: Encoding, word: string): Written | null {
  const characters = [...word].map((character) =>
    [...new Set([character.toLowerCase(), character.toUpperCase(), character])].flatMap((form) => {
      const bytes = [...form].map((one) => encoding.write(one));
      return bytes.includes(null) ? [] : [bytes.flatMap((one) => one!)];
    }),
  );
  return characters.some((forms) => forms.length === 0) ? null : { characters, alone: word.length < longWord };
}

function blankedBytes(bytes: Uint8Array, words: readonly Written[], encoding: Encoding): Uint8Array {
  const x = new Uint8Array(encoding.write("x")!);
  const starts = new Uint8Array(256);
  for (const { characters } of words) for (const [first] of characters[0]!) starts[first!] = 1;
  const pieces: Uint8Array[] = [];
  let kept = 0;
  for (let at = 0; at < bytes.length; at++) {
    if (starts[bytes[at]!] === 0) continue;
    const [word, end] = wordAt(bytes, at, words, encoding);
    if (word === null) continue;
    pieces.push(bytes.subarray(kept, at), ...word.characters.map(() => x));
    kept = end;
    at = end - 1;
  }
  return pieces.length === 0 ? bytes : joined([...pieces, bytes.subarray(kept)]);
}

const letterOrDigit = /[\p{L}\p{N}]/u;

function wordAt(
  bytes: Uint8Array,
  at: number,
  words: readonly Written[],
  { unit, read }: Encoding,
): [Written | null, number] {
  for (const word of words) {
    const end = endOfWord(bytes, at, word);
    if (end < 0) continue;
    const touches = (place: number) => place >= 0 && place < bytes.length && letterOrDigit.test(read(bytes, place));
    if (!word.alone || !(touches(at - unit) || touches(end))) return [word, end];
  }
  return [null, at];
}

/** Behind the word that begins here; −1 where it does not. */
function endOfWord(bytes: Uint8Array, at: number, { characters }: Written): number {
  let place = at;
  for (const forms of characters) {
    const form = forms.find((one) => one.every((byte, index) => bytes[place + index] === byte));
    if (!form) return -1;
    place += form.length;
  }
  return place;
}
