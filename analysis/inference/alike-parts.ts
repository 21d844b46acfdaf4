/**
 * Parts that every reading has on the same side: a fault at one of them shows as it would at the other, but for what is
 * expected of each.
 */
import type { RoundSetting } from "./round-setting.ts";

/** @returns for each part a word that it shares with those it is alike */
export function alikeParts({ expected, prepared, isShared, chassis, strayParts }: RoundSetting): string[] {
  return expected.map(({ id, leg }, part) =>
    [
      leg,
      isShared[part],
      chassis >= 0 && part > chassis,
      strayParts.includes(part),
      ...prepared.map(({ probe, reading }) => [
        part >= probe.first && part < probe.last,
        reading.bypassed.includes(id),
      ]),
    ].join(),
  );
}
