/**
 * A problem with what was given to the program: data first, and the sentence built here alone,
 * so that browser, server and command line say the same.
 */
export interface ProblemPlace {
  readonly file?: string;
  /** counted from 1 */
  readonly line?: number;
  /** a header's text, or the column's number from 1 */
  readonly column?: string | number;
  /** path into job.json, as `loop[3].style` */
  readonly field?: string;
}

export class Problem extends Error {
  readonly place: ProblemPlace;
  /** what is wrong and what would be right, without the place */
  readonly reason: string;

  /**
   * @param reason one sentence without its full stop: what is wrong, then what would be right
   * @example new Problem('time should increase; got 14.2 s after 14.6 s', { file: 'battery.csv', line: 212 }).message
   * // 'battery.csv, line 212: time should increase; got 14.2 s after 14.6 s'
   */
  constructor(reason: string, place: ProblemPlace = {}) {
    super(sentence(reason, place));
    this.name = "Problem";
    this.reason = reason;
    this.place = place;
  }

  /** The same problem with what is known of its place added; what it already names stays. */
  at(place: ProblemPlace): Problem {
    return new Problem(this.reason, { ...place, ...this.place });
  }
}

function sentence(reason: string, place: ProblemPlace): string {
  const where = [
    place.file,
    place.line === undefined ? undefined : `line ${place.line}`,
    place.column === undefined ? undefined : `column ${place.column}`,
    place.field,
  ].filter((part) => part !== undefined);
  return where.length > 0 ? `${where.join(", ")}: ${reason}` : reason;
}
