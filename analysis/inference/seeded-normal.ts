/**
 * Standard normal numbers from a seed: the same draws for the same seed, in every browser and on every server.
 * The uniform generator is a 32-bit multiply-and-shift mixer over a counter (from memory); Box and Muller (1958) make it normal.
 */
export function seededUniform(seed: number): () => number {
  let counter = seed >>> 0;
  return () => {
    counter = (counter + 0x9e3779b9) >>> 0;
    let mixed = counter ^ (counter >>> 16);
    mixed = Math.imul(mixed, 0x21f0aaad);
    mixed ^= mixed >>> 15;
    mixed = Math.imul(mixed, 0x735a2d97);
    mixed ^= mixed >>> 15;
    return ((mixed >>> 0) + 0.5) / 2 ** 32;
  };
}

export function seededNormal(seed: number): () => number {
  const uniform = seededUniform(seed);
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
