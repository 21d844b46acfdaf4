/**
 * The slow bytes of counters and clocks: they go up by one just as the byte beside them runs over. In a minute such a byte may
 * turn once or twice, as a range or a flag does.
 */

/** Share of all changes of the faster byte that lead up; a counter only falls as it runs over. */
const risingShare = 0.9;

/** @returns places, from the frame's start */
export function slowClockBytes(frames: readonly Uint8Array[]): number[] {
  const length = Math.min(...frames.map((frame) => frame.length));
  return Array.from({ length }, (_, at) => at).filter((at) =>
    [at + 1, at - 1].some((fast) => fast >= 0 && fast < length && carriesOver(frames, at, fast)),
  );
}

function carriesOver(frames: readonly Uint8Array[], slow: number, fast: number): boolean {
  let carries = 0;
  let rises = 0;
  let falls = 0;
  for (let i = 1; i < frames.length; i++) {
    const [before, now] = [frames[i - 1]!, frames[i]!];
    const step = (now[slow]! - before[slow]!) & 0xff;
    if (now[fast]! > before[fast]!) rises++;
    if (now[fast]! < before[fast]!) falls++;
    if (step === 0) continue;
    if (step !== 1 || now[fast]! >= before[fast]!) return false;
    carries++;
  }
  return carries > 0 && falls <= carries + (1 - risingShare) * (rises + falls) && rises > 0.5 * frames.length;
}
