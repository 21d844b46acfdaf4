/**
 * Every figure of belief before measuring, the parts' own (analysis/loop/sound-part.ts) aside: one page to be checked.
 * A log-normal is given by its median and the standard deviation of its logarithm (0.7: two of three within a factor of 2).
 * Where no source stands, the figure is from memory: what a workshop sees.
 */
import type { Cause } from "../diagnosis.ts";
import type { ConnectionStyle } from "../job/part-styles.ts";

export interface Normal {
  readonly mean: number;
  readonly deviation: number;
}
/** A normal whose two halves differ: half of the cases lie below the mean, within `below`, half above, within `above`. */
export interface TwoPiece {
  readonly mean: number;
  readonly below: number;
  readonly above: number;
}
export interface LogNormal {
  readonly median: number;
  /** standard deviation of the logarithm */
  readonly spread: number;
  /** the same below the median, where what is smaller would not count as that fault */
  readonly below?: number;
}

/** How often each cause is the one fault of a job that comes in. Normalised over the causes that can be. */
export const causeWeight: Readonly<Record<Cause, number>> = {
  "high-resistance-connection": 0.4,
  "intermittent-connection": 0.08,
  "conductor-not-as-declared": 0.07,
  "weak-battery": 0.07,
  "low-charge": 0.07,
  "no-charging": 0.05,
  overcharging: 0.03,
  "excess-load-current": 0.05,
  "stray-return": 0.05,
  "supply-sound": 0.13,
  // Takes the place of supply-sound where the declared run is over its limit: then it is the likeliest single cause.
  "undersized-run": 0.3,
};
/** How far the expected drop of a declared run must be from its limit to be clearly under or over it, as a share. */
export const limitSpread = 0.04;
/** Share of jobs with two faults at once. */
export const twoFaultShare = 0.1;

/** How much oftener than by chance two faults come together: what is not charged runs down, and what runs down ages. */
export const pairAffinity: readonly (readonly [Cause, Cause, number])[] = [
  ["no-charging", "low-charge", 5],
  ["weak-battery", "low-charge", 4],
  ["no-charging", "weak-battery", 2],
];
/** Volts alone hardly tell a dead charging system from one that runs low on purpose. */
export const variableNoChargingShare = 0.3;

/** How often a joint of each style is the bad one, against the others in the loop. */
export const jointWeight: Readonly<Record<ConnectionStyle | "fuse" | "switch", number>> = {
  "battery-post": 1,
  "ring-lug": 1,
  plug: 1.2,
  splice: 1,
  "ground-stud": 1.5,
  strap: 1.2,
  "screw-terminal": 1,
  "push-on": 1.2,
  "accessory-socket": 1.2,
  fuse: 1,
  switch: 1,
};

/** Volts that a bad joint loses at the transmit current, over those of a sound one: 80 mV to several volts. */
export const jointExcessVolts: LogNormal = { median: 0.45, spread: 1.0, below: 0.8 };
/** The same while an intermittent contact has shifted or opened: up to the whole supply. */
export const shiftExcessVolts: LogNormal = { median: 1.5, spread: 1.3 };
/**
 * From one deviation on a shift grows without bound, as a contact does that opens: some 1,000 Ω lie near three deviations,
 * so that about one shift in a hundred is taken to be so.
 */
export const openingFrom = 1;
export const openingRate = 0.7;
export const openedDeviations = 2.9;
/** A contact does not give way twice alike, and each log looks at other moments of it: share of the shift. */
export const shiftAgain = 0.06;
/** The same of a log of another moment: it may have given way twice as far, or half. */
export const shiftApart = 0.5;
/**
 * Current left to the load beyond its own law while a contact has shifted: mostly it keeps to its law, and from so many
 * deviations down a set that is starved draws anything below its own, a tenth less at one and nearly nothing at two.
 */
export const shiftShare: LogNormal = { median: 1, spread: 0.025 };
export const starvingFrom = -0.7;
export const starvingRate = 1.2;
/** What all wires have over their declared ohms, as a share of them; one third is what counts as a fault (`formats.md`). */
export const conductorExcess: LogNormal = { median: 0.75, spread: 0.5, below: 0.42 };
/** A loss below this at transmit brings nobody to the workshop; common practice. */
export const noticedVolts = 0.08;
/** Share of the load's current that comes back another way, as odds share / (1 − share). */
export const strayOdds: LogNormal = { median: 0.8, spread: 0.9, below: 0.75 };
/**
 * Ohms of another way back where there is one: the braid of some metres of antenna lead 20 to 60 mΩ, a bracket screwed
 * to painted metal 2 mΩ and more. Odds below these are not noticed.
 */
export const strayPathOhms: LogNormal = { median: 0.015, spread: 1.1 };
export const strayNoticedOdds = 0.3;

/**
 * Rested lead-acid: BCI-type table, 12.65 V full, 12.24 V at half charge (`voltage-limits.md` section 2), which is where a
 * sound one ends; surface charge above.
 */
export const restedLeadVolts: TwoPiece = { mean: 12.65, below: 0.17, above: 0.22 };
/** Half charge or less: 12.24 V down to 11.89 V discharged (same table), lower while something is drawn. */
export const lowLeadVolts: TwoPiece = { mean: 11.95, below: 0.3, above: 0.14 };
/** An undeclared battery may be of any type. */
export const undeclaredWiden = 1.15;
/** Surface charge within hours after a run: rest of at least three hours (same section); its size from memory. */
export const surfaceHours = 3;
export const surfaceVolts = 0.3;
/** Lithium rests near 13.3 V and falls late. */
export const restedLithiumVolts: TwoPiece = { mean: 13.25, below: 0.15, above: 0.15 };
export const lowLithiumVolts: TwoPiece = { mean: 12.6, below: 0.35, above: 0.25 };
/** A converter holds its output: set somewhere between 12.5 and 14.5 V. */
export const converterVolts: TwoPiece = { mean: 13.6, below: 0.5, above: 0.5 };
/**
 * Regulated charging: 13.5 to 14.8 V, common practice (`voltage-limits.md` section 3); a lithium battery's as well, which
 * takes no charge below that (from memory).
 */
export const chargingVolts: TwoPiece = { mean: 14.15, below: 0.32, above: 0.35 };
/** Charging that varies on purpose: 12.2 to 15 V (`voltage-limits.md` section 3). */
export const variableChargingVolts: TwoPiece = { mean: 13.6, below: 0.8, above: 0.6 };
/**
 * Not charging, the battery is what feeds the loop: its rested volts, less what the engine's own needs draw through its
 * ohms, more what a system that charges a little lifts it by, up to about 13.2 V.
 */
export const notChargingLiftVolts: TwoPiece = { mean: 0, below: 0.2, above: 0.42 };
/** A low battery leaves more room below 13.2 V. */
export const notChargingLowLiftVolts: TwoPiece = { mean: 0, below: 0.2, above: 0.7 };
/** Its ohms then, as a share of those with the engine off: it has been loaded for longer, or is helped a little. */
export const notChargingOhmsShare: LogNormal = { median: 0.9, spread: 0.3 };
export const engineOwnAmps = 6;
/** Settled above about 15.0 V. */
export const overchargingVolts: TwoPiece = { mean: 15.6, below: 0.25, above: 0.5 };
/** Nothing says whether the engine runs. */
export const unknownEngineVolts: Normal = { mean: 13.2, deviation: 0.8 };

/** Sound battery with its terminals over seconds of load: 5 to 25 mΩ (`formats.md`, from memory). */
export const soundSourceOhms: LogNormal = { median: 0.011, spread: 0.42 };
export const weakSourceOhms: LogNormal = { median: 0.06, spread: 0.45 };
/** Battery and regulator together, engine running. */
export const runningSourceOhms: LogNormal = { median: 0.008, spread: 0.8 };

/** A sound set draws its data plate's figure within some per cent, tune and antenna match included. */
export const transmitSpread = 0.09;
export const idleSpread = 0.3;
/**
 * What a meter shows of a pulsed emission, as a share of full power: speech 20–25 %, Morse 40 % (`voltage-limits.md`
 * section 7), half for two time slots; a whistle or a held key brings all of it.
 */
export const emissionShare: Readonly<Record<"ssb" | "cw" | "time-slotted", LogNormal>> = {
  ssb: { median: 0.4, spread: 0.5 },
  cw: { median: 0.55, spread: 0.4 },
  "time-slotted": { median: 0.6, spread: 0.35 },
};
/** By how much of it two meters' levels of a voice differ. */
export const voiceShare = 0.12;
/** Against the declared: a quarter more is what counts as a fault (`formats.md`). */
export const excessCurrentFactor: LogNormal = { median: 1.6, spread: 0.22, below: 0.13 };
/** Where the data plate is not declared. */
export const unknownTransmitAmps: LogNormal = { median: 9, spread: 0.6 };
export const unknownIdleAmps: LogNormal = { median: 0.7, spread: 0.8 };
export const standbyAmps: LogNormal = { median: 0.02, spread: 1.2 };
export const testLoadAmps: LogNormal = { median: 8, spread: 0.8 };
export const nominalVolts = 12;
/** Volts at which a load's current is taken to be declared, where the job does not say; common practice. */
export const ratedVolts = 13;
/** Current against voltage: −1 constant power, 0 constant current, 1 a resistor (`voltage-limits.md` section 6). */
export const loadExponent: Normal = { mean: 0.1, deviation: 0.6 };

/**
 * Amps of other loads in what the loop shares with them: mostly next to nothing, with the engine off, and now and then a
 * fan, a lamp, a fridge or a shore charger. They grow with the cube of the deviations: 0.4 A at one, 3 A at two, 8 A at three.
 */
export const rareLoadRate = 10;
export const chassisOtherAmps: Normal = { mean: 0, deviation: 0.03 };
/** The same on what lies between the battery and a bus: 0.8, 5 and 17 A. */
export const busOtherAmps: Normal = { mean: 0, deviation: 0.06 };
/** Share of them that comes back through the bus of the return leg, too, as odds; the rest has a ground of its own. */
export const busReturnOdds: LogNormal = { median: 2, spread: 1.8 };
/** What ignition, fans and pumps add to either while the engine runs. */
export const runningOtherAmps: Normal = { mean: 0, deviation: 0.06 };
/** Amps by which either changes from one condition of a log to the next: 0.2, 1 and 3 A. */
export const otherAmpsChange = 0.012;
/** What passes the chassis' end with the engine running, the charging system's own among it: 2, 16 and 50 A either way. */
export const chassisOtherAmpsRunning: Normal = { mean: 0, deviation: 0.18 };
/**
 * Share of the load's current that still passes what lies behind the chassis with the engine running, as odds, where a
 * strap bonds the block to the body; where the block is bonded to the battery alone, as likely, it is all of it.
 */
export const strapOdds: LogNormal = { median: 5, spread: 1.6 };
/** A heavy jumper laid round parts, with its clips. */
export const jumperOhms: LogNormal = { median: 0.002, spread: 0.7 };

/** Two readings taken at different keyings: the battery has moved on, the set draws a little more or less. */
export const momentVolts = { off: 0.025, running: 0.06 } as const;
export const momentAmpsShare = 0.015;
/** What a sound battery gives way by when the set is keyed, and the share of any more by which two keyings differ. */
export const soundSagVolts = 0.15;
export const momentSagShare = 0.15;
/** The same of an idle set, as a share of that; common practice. */
export const idleSagShare = 0.3;
/** Amps by which what else hangs on the battery differs between two keyings. */
export const momentBatteryAmps = 1.5;
/** Amps by which other loads change between two such readings. */
export const otherMomentAmps = 3;
/** How far a source moves between the conditions of one log: recovery and slow sag, a regulator hunting. */
export const driftVolts = { off: 0.015, running: 0.03 } as const;
/** The model is not the vehicle: share of a drop, and volts, that no reading is trusted beyond. */
export const modelShare = 0.004;
export const modelVolts = 0.0008;
/** Degrees of freedom of Student's t for what readings miss by: now and then one is taken at the wrong place or moment. */
export const readingTail = 5;
/**
 * Doubts beyond which a reading of uncertain state tells nothing more: as far as one in 20 logs of a drop was not keyed at
 * all (3.0 in ln probability with Student's t as above), and one in 100 levels read while a contact had shifted lies beside
 * the shift (4.6).
 */
export const farthestMiss = { keyingUnseen: 2.9, unmoved: 4.3 } as const;
/** RF in the meter's leads. */
export const antennaVolts = 0.02;
/** How far a held extreme lies beyond the level it bounds: mostly some tenths of a volt, or as much of the way as may be. */
export const heldVolts = 0.25;
export const heldShare = 0.5;
/** Probability that logs of keyed stretches show a contact's shift, small or large, with an intermittent contact and without. */
export const shiftSeen = {
  none: { intermittent: 0.1, otherwise: 0.95 },
  small: { intermittent: 0.35, otherwise: 0.048 },
  large: { intermittent: 0.55, otherwise: 0.002 },
} as const;
/** Share of contacts that stay quiet all through a log, however often they shifted before: a hand on the lead held them. */
export const shiftHiddenShare = 0.1;
/** Drops that have moved by the same share to within this have followed the current. */
export const alikeShare = 0.05;
/** By so much, in its logarithm, a set's current changes when 12 V become 14.5 V, whatever its law. */
export const engineCurrentChange = 0.25;
/** A voice moves the volts as a shifting contact does; by more than this only one that opens moves them. */
export const openedVolts = 3;
/**
 * A shift counts as seen from this many of a reading's doubts and `least` volts or amps on; as small up to `small`, as
 * large from `large` on, and in between by its logarithm.
 */
export const shiftLimit = { deviations: 5, least: 0.03, small: 0.1, large: 0.3 } as const;
