/** Size, length and kind of a wire. A size or length that was only guessed is said to be one until it is typed. */
import type { Wire } from "../../analysis/index.ts";
import { parseGauge, rounded } from "../job/wire-size.ts";
import { ChoiceField, EntryField, parseNumber } from "../pieces/fields.tsx";
import { feetPerMetre, settings } from "../settings.ts";

interface WireFieldsProps {
  readonly wire: Wire;
  readonly path: string;
  readonly change: (fields: object) => void;
}

export function WireFields(props: WireFieldsProps) {
  const { wire, change } = props;
  return (
    <>
      <SizeField {...props} />
      <MetresField {...props} />
      <ChoiceField
        label="Metal"
        value={wire.material ?? "copper"}
        choices={[
          ["copper", "Copper"],
          ["copper-clad-aluminium", "Copper-clad aluminium"],
          ["aluminium", "Aluminium"],
        ]}
        onValue={(material) => change({ material: material === "copper" ? undefined : material })}
      />
      <ChoiceField
        label="Runs"
        value={wire.engineSpace ? "engine" : wire.sheathed ? "sheathed" : ""}
        choices={[
          ["", "In free air"],
          ["sheathed", "In sheath or conduit"],
          ["engine", "In the engine space"],
        ]}
        onValue={(where) =>
          change({ sheathed: where === "sheathed" || undefined, engineSpace: where === "engine" || undefined })
        }
      />
    </>
  );
}

const without = (wire: Wire, known: "size" | "length"): Wire["unknown"] => {
  const rest = (wire.unknown ?? []).filter((guess) => guess !== known);
  return rest.length > 0 ? rest : undefined;
};

function SizeField({ wire, path, change }: WireFieldsProps) {
  const unit =
    wire.squareMillimetres !== undefined
      ? "mm2"
      : wire.awg !== undefined && !wire.unknown?.includes("size")
        ? "awg"
        : settings.value.gauge;
  const inAwg = unit === "awg";
  const text = inAwg
    ? `${wire.awg ?? ""}`
    : wire.squareMillimetres !== undefined
      ? rounded(wire.squareMillimetres)
      : wire.awg === undefined
        ? ""
        : rounded(areaOfAwg(wire.awg));
  const apply = (typed: string, kind: "awg" | "mm2") => {
    const size =
      kind === "awg"
        ? { awg: parseGauge(typed), squareMillimetres: undefined }
        : { awg: undefined, squareMillimetres: parseNumber(typed) };
    change({ ...size, unknown: without(wire, "size") });
  };
  return (
    <div class="field-pair">
      <EntryField
        label="Size"
        path={`${path}.size`}
        text={text}
        hint={wire.unknown?.includes("size") ? "a guess until you type it" : undefined}
        check={(typed) => sizeComplaint(typed, inAwg)}
        apply={(typed) => apply(typed, unit)}
      />
      <ChoiceField
        label="in"
        value={wire.gaugeSystem === "sae" ? "sae" : unit}
        choices={[
          ["awg", "AWG"],
          ["mm2", "mm²"],
          ["sae", "SAE"],
        ]}
        onValue={(kind) => change(inUnit(wire, kind as "awg" | "mm2" | "sae"))}
      />
    </div>
  );
}

/** The same wire written in another unit: the nearest whole gauge, or the area of the gauge. */
function inUnit(wire: Wire, unit: "awg" | "mm2" | "sae"): Partial<Wire> {
  const area = wire.squareMillimetres ?? areaOfAwg(wire.awg ?? 10);
  if (unit === "mm2") return { awg: undefined, gaugeSystem: undefined, squareMillimetres: Number(rounded(area)) };
  const awg = wire.awg ?? Math.round(36 - (39 * Math.log(Math.sqrt((4 * area) / Math.PI) / 0.127)) / Math.log(92));
  return { awg, squareMillimetres: undefined, gaugeSystem: unit === "sae" ? "sae" : undefined };
}

/** ASTM B258 (2014), section 3: diameter 0.127 mm × 92^((36 − n)/39) (section number from memory). */
function areaOfAwg(awg: NonNullable<Wire["awg"]>): number {
  const number = typeof awg === "number" ? awg : 1 - Number(awg[0]);
  return (Math.PI / 4) * (0.127 * 92 ** ((36 - number) / 39)) ** 2;
}

function sizeComplaint(text: string, inAwg: boolean): string | null {
  if (inAwg) return parseGauge(text) === null ? `Size: should be a gauge such as 10 or 1/0; got “${text}”.` : null;
  const area = parseNumber(text);
  return area === null || area <= 0 || area > 1000 ? `Size: should be mm² from 0.05 to 1000; got “${text}”.` : null;
}

function MetresField({ wire, path, change }: WireFieldsProps) {
  const feet = settings.value.length === "ft";
  const factor = feet ? feetPerMetre : 1;
  return (
    <EntryField
      label="Length"
      unit={feet ? "ft" : "m"}
      path={`${path}.metres`}
      text={rounded(wire.metres * factor)}
      hint={wire.unknown?.includes("length") ? "a guess until you type it" : undefined}
      check={(text) => {
        const value = parseNumber(text);
        const fine = value !== null && value > 0 && value / factor <= 1000;
        return fine ? null : `Length: should be above 0 and up to ${feet ? "3280 ft" : "1000 m"}; got “${text}”.`;
      }}
      apply={(text) => change({ metres: parseNumber(text)! / factor, unknown: without(wire, "length") })}
    />
  );
}
