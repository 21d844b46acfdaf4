/**
 * Two tabs (or later two devices) changed one job from the same base: take both sets of changes where they
 * do not meet, field by field, and say where they do.
 */
export interface Merged<T> {
  readonly value: T;
  /** paths that both sides changed, differently: there `mine` was taken */
  readonly disputed: readonly string[];
}

type Plain = Record<string, unknown>;

export function merge<T extends object>(base: T, mine: T, theirs: T): Merged<T> {
  const disputed: string[] = [];
  const value = mergeFields(base as Plain, mine as Plain, theirs as Plain, "", disputed);
  return { value: value as T, disputed };
}

function mergeFields(base: Plain, mine: Plain, theirs: Plain, path: string, disputed: string[]): Plain {
  const merged: Plain = {};
  for (const key of new Set([...Object.keys(theirs), ...Object.keys(mine)])) {
    const here = path ? `${path}.${key}` : key;
    const value = mergeValue(base[key], mine[key], theirs[key], here, disputed);
    if (value !== undefined) merged[key] = value;
  }
  return merged;
}

function mergeValue(base: unknown, mine: unknown, theirs: unknown, path: string, disputed: string[]): unknown {
  if (same(mine, theirs) || same(base, theirs)) return mine;
  if (same(base, mine)) return theirs;
  if (isPlain(base) && isPlain(mine) && isPlain(theirs)) return mergeFields(base, mine, theirs, path, disputed);
  disputed.push(path);
  return mine;
}

const isPlain = (value: unknown): value is Plain =>
  typeof value === "object" && value !== null && !Array.isArray(value);

export const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);
