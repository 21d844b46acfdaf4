/**
 * How well the stated probabilities did. Expected calibration error with ten bins of equal width (Guo et al. 2017, from
 * memory); Brier score (Brier 1950, from memory): mean of (p − right)²; log score: mean of −ln of what the truth was given.
 */
export interface Forecast {
  readonly probability: number;
  readonly right: boolean;
}

export interface CalibrationBin {
  readonly low: number;
  readonly high: number;
  readonly count: number;
  readonly meanProbability: number;
  readonly shareRight: number;
}

const binCount = 10;

export function calibrationBins(forecasts: readonly Forecast[]): CalibrationBin[] {
  return Array.from({ length: binCount }, (_, i) => {
    const inBin = forecasts.filter(
      ({ probability }) => Math.min(binCount - 1, Math.floor(probability * binCount)) === i,
    );
    return {
      low: i / binCount,
      high: (i + 1) / binCount,
      count: inBin.length,
      meanProbability: mean(inBin.map(({ probability }) => probability)),
      shareRight: mean(inBin.map(({ right }) => Number(right))),
    };
  }).filter(({ count }) => count > 0);
}

/** @example expectedCalibrationError([{ probability: 0.8, right: true }, { probability: 0.8, right: false }]) // 0.3 */
export function expectedCalibrationError(forecasts: readonly Forecast[]): number {
  return calibrationBins(forecasts).reduce(
    (sum, bin) => sum + (bin.count / forecasts.length) * Math.abs(bin.meanProbability - bin.shareRight),
    0,
  );
}

export const brierScore = (forecasts: readonly Forecast[]): number =>
  mean(forecasts.map(({ probability, right }) => (probability - Number(right)) ** 2));

/** Nothing is worse than one in ten thousand: a single miss should not be the whole score. */
const leastProbability = 1e-4;

export const logScore = (givenToTruth: readonly number[]): number =>
  mean(givenToTruth.map((probability) => -Math.log(Math.max(leastProbability, Math.min(1, probability)))));

export const mean = (values: readonly number[]): number =>
  values.length === 0 ? Number.NaN : values.reduce((sum, value) => sum + value, 0) / values.length;

export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
}
