/**
 * What a sound part of each kind should measure: the one place where these figures stand.
 * A contact's ohms scatter by a factor, not by an amount, so each kind has a median and the standard deviation of
 * ln(ohms): 0.7 means that two of three lie within a factor of 2 of the median, 95 % within a factor of 4.
 * "memory table" below is `contact-resistance.md` section 2: good-condition ranges from memory, no single source;
 * each median is near the geometric middle of the range named. Only the anchors marked "published" have a source.
 */
import type { ConnectionStyle, FuseStyle } from "../job/part-styles.ts";
import type { Ohms } from "../units.ts";

export interface SoundOhms {
  readonly ohms: Ohms;
  /** standard deviation of ln(ohms) */
  readonly spread: number;
  readonly source: string;
}

/** One connection is one mated joint with the crimp that belongs to it. */
export const soundConnection: Readonly<Record<ConnectionStyle, SoundOhms>> = {
  "battery-post": { ohms: 0.15e-3, spread: 0.7, source: "from memory: post clamp 0.05 to 0.3 mΩ" },
  "ring-lug": {
    ohms: 0.3e-3,
    spread: 0.7,
    source: "from memory: crimped ring 0.1 to 0.5 mΩ and its seat 0.05 to 0.3 mΩ",
  },
  plug: { ohms: 1.0e-3, spread: 0.8, source: "from memory: mated power contact 0.5 to 0.9 mΩ, 6.3 mm tab pair 1.5 mΩ" },
  splice: { ohms: 0.3e-3, spread: 0.8, source: "from memory: as a crimp, 0.1 to 0.5 mΩ" },
  // published: MIL-DTL-83454A 4.5.3 Table VIII allows a stud and its ring 0.17 to 0.30 mΩ; AC 43.13-1B 11-189 a bond 3 mΩ
  "ground-stud": { ohms: 0.4e-3, spread: 0.8, source: "from memory: bolted chassis joint 0.1 to 1 mΩ with its lug" },
  strap: { ohms: 0.4e-3, spread: 0.8, source: "from memory: a bolted joint at either end, 0.1 to 1 mΩ" },
  "screw-terminal": { ohms: 0.5e-3, spread: 0.8, source: "from memory: clamped strands 0.2 to 1 mΩ" },
  "push-on": {
    ohms: 0.9e-3,
    spread: 0.63,
    source: "from memory: 6.3 mm blade, tin-plated, 0.3 to 1.5 mΩ with its crimp",
  },
  "accessory-socket": { ohms: 20e-3, spread: 0.6, source: "from memory: accessory-socket plug 10 to 50 mΩ" },
};

/** The holder's or bolts' two contacts, without the fuse. */
export const soundHolder: Readonly<Record<FuseStyle, SoundOhms>> = {
  blade: { ohms: 1.8e-3, spread: 0.6, source: "from memory: blade holder, both contacts, 1 to 3 mΩ" },
  "maxi-blade": { ohms: 0.8e-3, spread: 0.7, source: "from memory: larger blades, 0.4 to 1.5 mΩ" },
  "bolt-down": { ohms: 0.25e-3, spread: 0.7, source: "from memory: two bolted lugs, 0.05 to 0.3 mΩ each" },
  glass: { ohms: 4.5e-3, spread: 0.7, source: "from memory: inline glass-fuse holder, both ends, 2 to 10 mΩ" },
};

/**
 * The fuse link itself, cold: amps of rating → ohms. Between the entries, and past them, volts at rating fall off
 * slowly, so the logarithms are joined by straight lines. The 10 A blade is published twice over (1 mV at 130 mA:
 * `worked-examples.md` W44); the rest of the blade row is one maker's typical values, from memory. The larger styles
 * are from memory alone: about 50 mV at rating.
 */
export const soundLink: Readonly<Record<FuseStyle, readonly (readonly [ratingAmps: number, ohms: Ohms])[]>> = {
  blade: [
    [1, 123e-3],
    [2, 53.5e-3],
    [3, 31.1e-3],
    [5, 17.85e-3],
    [7.5, 10.91e-3],
    [10, 7.7e-3],
    [15, 4.8e-3],
    [20, 3.38e-3],
    [25, 2.52e-3],
    [30, 1.97e-3],
    [40, 1.44e-3],
  ],
  "maxi-blade": [
    [20, 3.0e-3],
    [30, 1.9e-3],
    [40, 1.35e-3],
    [60, 0.85e-3],
    [80, 0.6e-3],
    [100, 0.47e-3],
  ],
  "bolt-down": [
    [30, 1.6e-3],
    [60, 0.8e-3],
    [100, 0.45e-3],
    [200, 0.22e-3],
    [500, 0.09e-3],
  ],
  glass: [
    [1, 130e-3],
    [5, 18e-3],
    [10, 8e-3],
    [20, 3.6e-3],
    [30, 2.1e-3],
  ],
};
/** Spread of ln(link ohms): makes, and how warm the load keeps it; from memory. */
export const linkSpread = 0.35;
/** A link warms under load: near its rating 1.3 to 1.5 times cold (`ampacity-and-fuses.md` section 7), half of that at the usual load. */
export const linkWarmth = 1.15;
/** A fuse whose rating is not declared: taken for the load's transmit current, and this much wider. */
export const unknownRatingSpread = 0.35;

export const soundSwitch: SoundOhms = {
  ohms: 3e-3,
  spread: 0.85,
  source: "from memory: switch, relay or breaker contact 1 to 10 mΩ",
};

export const soundChassis: SoundOhms = {
  ohms: 0.7e-3,
  spread: 0.8,
  source: "from memory: welded-body path of a few metres 0.2 to 2 mΩ",
};

/**
 * Standard deviations of ln(ohms) of a sound wire, independent of each other; common practice.
 * A metre is paced out, not measured, and a maker's strands differ by some per cent from the nominal area.
 */
export const soundWire = {
  length: 0.07,
  area: 0.05,
  /** half the step to the neighbouring trade size (a factor 1.6 in area) either way, and a bit more */
  guessedSize: 0.4,
  guessedLength: 0.3,
  /** copper-clad aluminium of one gauge: 1.50 to 1.60 times copper (`conductors.md` section 7) */
  cladRatio: 0.02,
  /** the run is not all at one temperature: 8 K either way */
  ambient: 0.03,
  /** no temperature declared: 20 °C assumed, 15 K either way */
  assumedAmbient: 0.06,
} as const;

/** Ohms stated by the job without a tolerance: 95 % within a factor of 2; common practice. */
export const statedOhmsSpread = 0.35;
/** Nothing is known better than this; keeps a stated tolerance of 1 from making a part certain. */
export const leastSpread = 0.01;
/** Stands for a part declared as 0 ohms, which has no logarithm. */
export const leastOhms: Ohms = 1e-6;
