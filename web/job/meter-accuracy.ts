/** A meter's accuracy as its manual prints it. */

/** '0.5 % + 3 counts', '±(0,5% rdg + 3 dgt)' → per cent and counts; null where the text says neither. */
export function parseAccuracy(text: string): { percentOfReading: number; counts: number } | null {
  const found = /^[^\d]*(\d+(?:[.,]\d+)?|[.,]\d+)\s*%[^+\d]*(?:\+\s*(\d+(?:[.,]\d+)?)[^\d]*)?$/.exec(text.trim());
  if (!found) return null;
  const [percentOfReading, counts] = [found[1], found[2] ?? "0"].map((part) => Number(part!.replace(",", "."))) as [
    number,
    number,
  ];
  return percentOfReading <= 100 && counts <= 10_000 ? { percentOfReading, counts } : null;
}
