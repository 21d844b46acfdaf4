/** What a part is: kind, rating, size and length, known ohms; the same fields where it is declared and where it was changed. */
import { connectionStyles, fuseStyles, type Part } from "../../analysis/index.ts";
import { ChoiceField, NumberField } from "../pieces/fields.tsx";
import { feetPerMetre, settings } from "../settings.ts";
import { connectionWords, fuseWords } from "../words/plain-words.ts";
import { WireFields } from "./wire-fields.tsx";

export interface PartFieldsProps {
  readonly item: Part;
  /** where a text that is no value waits */
  readonly path: string;
  readonly change: (fields: object) => void;
}

export function PartFields({ item, path, change }: PartFieldsProps) {
  return (
    <>
      {item.part === "connection" && (
        <ChoiceField
          label="Kind"
          value={item.style}
          choices={connectionStyles.map((style) => [style, connectionWords[style]!])}
          onValue={(style) => change({ style })}
        />
      )}
      {item.part === "fuse" && (
        <>
          <ChoiceField
            label="Kind"
            value={item.style}
            choices={fuseStyles.map((style) => [style, fuseWords[style]!])}
            onValue={(style) => change({ style })}
          />
          <NumberField
            label="Rating"
            unit="A"
            path={`${path}.ratingAmps`}
            value={item.ratingAmps}
            least={0.1}
            most={10000}
            onValue={(ratingAmps) => change({ ratingAmps })}
          />
          <LengthField
            label="From the battery"
            path={`${path}.metresFromBattery`}
            metres={item.metresFromBattery}
            onMetres={(metresFromBattery) => change({ metresFromBattery })}
          />
        </>
      )}
      {item.part === "wire" && <WireFields wire={item} path={path} change={change} />}
      <NumberField
        label="Known ohms"
        unit="mΩ"
        path={`${path}.ohms`}
        value={item.ohms === undefined ? undefined : item.ohms * 1000}
        least={0}
        most={1e6}
        hint="only where measured or stated"
        onValue={(value) => change({ ohms: value === undefined ? undefined : value / 1000 })}
      />
    </>
  );
}

function LengthField(props: {
  label: string;
  path: string;
  metres: number | undefined;
  onMetres: (metres: number | undefined) => void;
}) {
  const feet = settings.value.length === "ft";
  const factor = feet ? feetPerMetre : 1;
  return (
    <NumberField
      label={props.label}
      unit={feet ? "ft" : "m"}
      path={props.path}
      value={props.metres === undefined ? undefined : props.metres * factor}
      least={0}
      most={feet ? 3280 : 1000}
      onValue={(value) => props.onMetres(value === undefined ? undefined : value / factor)}
    />
  );
}
