/**
 * "±" as one value: an estimate with its standard uncertainty split by cause.
 * Components with the same cause are fully correlated, different causes are independent
 * (JCGM 100:2008, 5.1.2 and 5.2.2; clause numbers from memory). A thing minus itself is exactly zero.
 */
export interface Uncertain {
  readonly value: number;
  /** cause → signed standard uncertainty in the value's unit; a cause is any unique name, as `gain of m1` */
  readonly components: Readonly<Record<string, number>>;
}

/** What leaves the program: best value, 95 % interval, standard uncertainty (`Q` of `formats.md`). */
export interface UncertainQuantity {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly uncertainty: number;
}

/** 97.5 % point of the standard normal distribution. */
const coverageFactor95 = 1.959964;

export function uncertain(value: number, components: Record<string, number> = {}): Uncertain {
  return { value, components };
}

/** a·x + b·y, correlations kept. */
export function combine(a: number, x: Uncertain, b: number, y: Uncertain): Uncertain {
  const components: Record<string, number> = {};
  for (const [cause, u] of Object.entries(x.components)) components[cause] = a * u;
  for (const [cause, u] of Object.entries(y.components)) components[cause] = (components[cause] ?? 0) + b * u;
  return { value: a * x.value + b * y.value, components };
}

export const add = (x: Uncertain, y: Uncertain): Uncertain => combine(1, x, 1, y);
export const subtract = (x: Uncertain, y: Uncertain): Uncertain => combine(1, x, -1, y);
export const scale = (factor: number, x: Uncertain): Uncertain => combine(factor, x, 0, uncertain(0));

/**
 * x / y to first order: holds while y is many of its uncertainties away from zero.
 * @throws {RangeError} when y is zero
 */
export function divide(x: Uncertain, y: Uncertain): Uncertain {
  if (y.value === 0) throw new RangeError("divide: the divisor should not be 0");
  const ratio = x.value / y.value;
  return { ...combine(1 / y.value, x, -ratio / y.value, y), value: ratio };
}

/**
 * Combined standard uncertainty: root of the sum of squares over causes.
 * @example standardUncertainty(uncertain(12.4, { noise: 0.003, counts: 0.004 })) // 0.005
 */
export function standardUncertainty(x: Uncertain): number {
  return Math.hypot(...Object.values(x.components));
}

/** To the form of the diagnosis, 95 % interval taken as normal (coverage factor 1.96). */
export function toQuantity(x: Uncertain): UncertainQuantity {
  return quantity(x.value, standardUncertainty(x));
}

/** The same from a value and its standard uncertainty. */
export function quantity(value: number, uncertainty: number): UncertainQuantity {
  const half = coverageFactor95 * uncertainty;
  return { value, low: value - half, high: value + half, uncertainty };
}
