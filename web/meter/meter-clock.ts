/** The one clock of all meters: seconds since the page was opened, which nobody sets while it runs. */
export const meterNow = (): number => performance.now() / 1000;

/** The same moment as a date. */
export const dateOf = (seconds: number): Date => new Date(performance.timeOrigin + seconds * 1000);

/** A moment of the world's clock on this one. */
export const onMeterClock = (epochSeconds: number): number => epochSeconds - performance.timeOrigin / 1000;
