/**
 * A column of numbers that grows as the log is read. It grows in blocks, so that nothing is copied
 * on the way and memory stays at 8 bytes a number.
 */
const blockLength = 32_768;

export class GrowingColumn {
  #blocks: Float64Array[] = [];
  #block = new Float64Array(blockLength);
  #used = 0;

  get length(): number {
    return this.#blocks.length * blockLength + this.#used;
  }

  push(value: number): void {
    if (this.#used === blockLength) {
      this.#blocks.push(this.#block);
      this.#block = new Float64Array(blockLength);
      this.#used = 0;
    }
    this.#block[this.#used++] = value;
  }

  /** All numbers in one piece; the column is empty afterwards. */
  take(): Float64Array {
    const all = new Float64Array(this.length);
    const blocks = this.#blocks;
    this.#blocks = [];
    for (let i = 0; i < blocks.length; i++) all.set(blocks[i]!, i * blockLength);
    all.set(this.#block.subarray(0, this.#used), blocks.length * blockLength);
    this.#block = new Float64Array(blockLength);
    this.#used = 0;
    return all;
  }
}
