/** Where the probes were, or round which part the clamp sat. */
import { type Job, partsOf, pointsOf } from "../../analysis/index.ts";
import { ChoiceField, Segments } from "../pieces/fields.tsx";
import { partName, pointName } from "../words/plain-words.ts";

export interface PlaceChoice {
  readonly quantity: "volts" | "amps";
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
}

export function PlaceFields({
  job,
  place,
  onPlace,
}: {
  job: Job;
  place: PlaceChoice;
  onPlace: (place: PlaceChoice) => void;
}) {
  const points = pointsOf(job).map((point) => [point, pointName(point)] as const);
  const parts = partsOf(job).map((part) => [part.id, partName(part)] as const);
  return (
    <>
      <Segments
        label="Measured"
        value={place.quantity}
        choices={[
          ["volts", "Volts, two probes"],
          ["amps", "Amps, a clamp"],
        ]}
        onValue={(quantity) =>
          onPlace(
            quantity === "amps"
              ? { quantity, through: place.through }
              : { quantity: "volts", from: place.from, to: place.to },
          )
        }
      />
      {place.quantity === "volts" ? (
        <div class="fields">
          <ChoiceField
            label="Red probe (+) on"
            value={place.from ?? ""}
            choices={[["", "choose"], ...points]}
            onValue={(from) => onPlace({ ...place, from: from || undefined })}
          />
          <ChoiceField
            label="Black probe (−) on"
            value={place.to ?? ""}
            choices={[["", "choose"], ...points]}
            onValue={(to) => onPlace({ ...place, to: to || undefined })}
          />
        </div>
      ) : (
        <ChoiceField
          label="Clamp round"
          value={place.through ?? ""}
          choices={[["", "choose"], ...parts]}
          onValue={(through) => onPlace({ ...place, through: through || undefined })}
        />
      )}
    </>
  );
}

export function isPlaced(place: PlaceChoice): boolean {
  return place.quantity === "amps"
    ? place.through !== undefined
    : place.from !== undefined && place.to !== undefined && place.from !== place.to;
}

export function meterChoices(job: Job): [string, string][] {
  return [["", "Not named"], ...job.meters.map(({ id, label }): [string, string] => [id, label || id])];
}
