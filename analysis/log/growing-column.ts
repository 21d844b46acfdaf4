/**
 * A column of numbers that grows as the log is read. What is expected is set aside at once and is then the column
 * itself; what comes beyond grows in blocks, so that nothing is copied on the way. Either way 8 bytes a number.
 */
const blockLength = 32_768;
const firstLength = 1024;

export class GrowingColumn {
  #full: Float64Array[] = [];
  #fullLength = 0;
  #block: Float64Array;
  #used = 0;

  /** @param expected so many numbers are likely to come; 0: not known. Memory that stays unused is not taken from the system. */
  constructor(expected = 0) {
    this.#block = new Float64Array(Math.max(expected, firstLength));
  }

  get length(): number {
    return this.#fullLength + this.#used;
  }

  push(value: number): void {
    if (this.#used === this.#block.length) this.#beginBlock();
    this.#block[this.#used++] = value;
  }

  /** The first `count` of the numbers, each · multiply / divide. */
  append(numbers: Float64Array, count: number, multiply: number, divide: number): void {
    for (let from = 0; from < count; ) {
      if (this.#used === this.#block.length) this.#beginBlock();
      const room = Math.min(count - from, this.#block.length - this.#used);
      const block = this.#block;
      const at = this.#used - from;
      if (multiply === divide) block.set(numbers.subarray(from, from + room), this.#used);
      else for (let k = from; k < from + room; k++) block[at + k] = (numbers[k]! * multiply) / divide;
      this.#used += room;
      from += room;
    }
  }

  #beginBlock(): void {
    this.#full.push(this.#block);
    this.#fullLength += this.#block.length;
    this.#block = new Float64Array(blockLength);
    this.#used = 0;
  }

  /** All numbers in one piece; the column is empty afterwards. */
  take(): Float64Array {
    const last = this.#block.subarray(0, this.#used);
    const all = this.#full.length === 0 && 2 * last.length > this.#block.length ? last : this.#joined(last);
    this.#full = [];
    this.#fullLength = 0;
    this.#block = new Float64Array(0);
    this.#used = 0;
    return all;
  }

  #joined(last: Float64Array): Float64Array {
    const all = new Float64Array(this.#fullLength + last.length);
    let at = 0;
    for (const block of [...this.#full, last]) {
      all.set(block, at);
      at += block.length;
    }
    return all;
  }
}
