/**
 * What each declared part should measure if it is sound: median ohms, spread, and where the figure comes from.
 * Goes in: a job. Comes out: one entry for each part in the order of the loop, the load aside.
 */
import type { Job, Part, Wire } from "../job/job.ts";
import { legOf, partsOf } from "../job/route.ts";
import type { Celsius, Ohms } from "../units.ts";
import { soundFuse } from "./fuse.ts";
import {
  leastOhms,
  leastSpread,
  type SoundOhms,
  soundChassis,
  soundConnection,
  soundSwitch,
  soundWire,
  statedOhmsSpread,
} from "./sound-part.ts";
import { wireOhms } from "./wire.ts";

export interface ExpectedPart {
  readonly id: string;
  readonly kind: Part["part"];
  readonly leg: "supply" | "return";
  /** median; > 0 */
  readonly ohms: Ohms;
  /** standard deviation of ln(ohms); > 0 */
  readonly spread: number;
  readonly source: string;
}

/** Taken where the job says nothing (`formats.md` section 1). */
export const assumedAmbientCelsius: Celsius = 20;

/** 97.5 % point of the standard normal distribution: a stated tolerance is taken to hold in 95 of 100. */
const coverageFactor95 = 1.959964;

export function expectedParts(job: Job): ExpectedPart[] {
  return partsOf(job).map((part) => ({
    id: part.id,
    kind: part.part,
    leg: legOf(job, part.id),
    ...stated(part, soundPart(job, part)),
  }));
}

function soundPart(job: Job, part: Part): SoundOhms {
  switch (part.part) {
    case "connection":
      return soundConnection[part.style];
    case "fuse":
      return soundFuse(part, job.load.transmitAmps);
    case "switch":
      return soundSwitch;
    case "chassis":
      return soundChassis;
    case "wire":
      return soundWireOhms(part, job.ambientCelsius);
  }
}

function soundWireOhms(wire: Wire, ambientCelsius: Celsius | undefined): SoundOhms {
  const unknown = wire.unknown ?? [];
  return {
    ohms: wireOhms(wire, ambientCelsius ?? assumedAmbientCelsius),
    spread: Math.hypot(
      unknown.includes("length") ? soundWire.guessedLength : soundWire.length,
      unknown.includes("size") ? soundWire.guessedSize : soundWire.area,
      ambientCelsius === undefined ? soundWire.assumedAmbient : soundWire.ambient,
      wire.material === "copper-clad-aluminium" ? soundWire.cladRatio : 0,
    ),
    source: "resistivity of NBS Handbook 100 (1966), size by ASTM B258, SAE or as stated, stranding 2 %",
  };
}

/** `ohms` and `ohmsTolerance` of the job override what is expected, each on its own. */
function stated(part: Part, sound: SoundOhms): SoundOhms {
  const spread =
    part.ohmsTolerance !== undefined
      ? Math.log(part.ohmsTolerance) / coverageFactor95
      : part.ohms !== undefined
        ? Math.min(sound.spread, statedOhmsSpread)
        : sound.spread;
  return {
    ohms: Math.max(part.ohms ?? sound.ohms, leastOhms),
    spread: Math.max(spread, leastSpread),
    source: part.ohms === undefined ? sound.source : "as stated in the job",
  };
}
