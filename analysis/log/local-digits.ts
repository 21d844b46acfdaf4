/**
 * Digits of other scripts, as phones write them where they are set to one: ١٢٫٦١, ۱۲٫۶۱, １２．６１ become 12.61.
 * Names in a header stay as they stand: only a row that begins with such a digit is rewritten.
 */
const beginsWithOne = /^[-+−－＋\s"'([\u200e\u200f\u061c]*[٠-٩۰-۹０-９]/;
const firstDigits = [0x660, 0x6f0, 0xff10];

export function withAsciiDigits(text: string): string {
  if (!beginsWithOne.test(text)) return text;
  return text
    .replace(/[\u200e\u200f\u061c]/g, "")
    .replace(/[٠-٩۰-۹０-９]/g, digitOf)
    .replace(/(?<=\d)٫/g, ".")
    .replace(/(?<=\d)٬(?=\d)/g, "'")
    .replace(/(?<=\d)[．：／，](?=[\d－＋])|[－＋](?=\d)/g, (mark) => mark.normalize("NFKC"));
}

function digitOf(digit: string): string {
  const code = digit.codePointAt(0)!;
  return String(code - firstDigits.findLast((first) => first <= code)!);
}
