/** Leave a record: what is on it, seen as it will be, signed, then printed, saved or handed on. Made without a server. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { job, openJob } from "../job/open-job.ts";
import { Segments } from "../pieces/fields.tsx";
import { recordChoice, signsWithKey } from "../record/record-choice.ts";
import { findShopKey, shopKey } from "../record/shop-key.ts";
import { addressOf, vehicleAddress } from "../routes.ts";
import { CheckRecord } from "./check-record.tsx";
import { HandSignatures } from "./hand-signatures.tsx";
import { RecordActions } from "./record-actions.tsx";
import { RecordPreview } from "./record-preview.tsx";
import { ShopKeyCard } from "./shop-key-card.tsx";

export function RecordScreen() {
  useEffect(() => void findShopKey(), []);
  const document = job.value!;
  const measured = document.recordings.length + document.readings.length > 0;
  const leftOut = useSignal<readonly string[]>([]);
  return (
    <div class="record-screen">
      <div class="stack record-desk">
        <h1>Record</h1>
        {!measured && (
          <p class="notice">
            Nothing has been measured yet: the record would say so.{" "}
            <a href={addressOf(openJob.value!.id, "measure")}>Take the first reading</a>
          </p>
        )}
        <section class="sheet" aria-labelledby="what-heading">
          <h2 id="what-heading">What is on it</h2>
          <p class="field-note">
            For the customer, in plain words first. The PDF carries the job with every log, and this app opens it again.
          </p>
          <Choices />
          <RecordActions leftOut={leftOut} />
        </section>
        <HandSignatures document={document} />
        <ShopKeyCard />
        {document.vehicleId && (
          <a class="button" href={vehicleAddress(document.vehicleId)}>
            All jobs of {document.vehicleId} over time
          </a>
        )}
        <CheckRecord />
      </div>
      <RecordPreview />
    </div>
  );
}

function Choices() {
  const choice = recordChoice.value;
  const choose = (fields: Partial<typeof choice>) => {
    recordChoice.value = { ...choice, ...fields };
  };
  return (
    <>
      <Segments
        label="Paper"
        value={choice.paper}
        choices={[
          ["a4", "A4"],
          ["letter", "US Letter"],
        ]}
        onValue={(paper) => choose({ paper: paper as typeof choice.paper })}
      />
      <Segments
        label="Length"
        value={choice.form}
        choices={[
          ["full", "All of it"],
          ["short", "One page"],
        ]}
        onValue={(form) => choose({ form: form as typeof choice.form })}
      />
      <Segments
        label="The customer’s name and place"
        value={choice.shared ? "out" : "in"}
        choices={[
          ["in", "On it"],
          ["out", "Left out"],
        ]}
        onValue={(wish) => choose({ shared: wish === "out" })}
      />
      {choice.shared && (
        <p class="field-note">
          Customer, vehicle, number, notes, title and signatures are left out, and the words of the customer’s name are
          blanked in every other text, file name and log; photos keep the picture alone. What a photo shows, only you
          can judge.
        </p>
      )}
      {shopKey.value && (
        <Segments
          label="The shop’s key"
          value={choice.signed ? "signed" : "plain"}
          choices={[
            ["signed", "Signs the PDF"],
            ["plain", "Does not"],
          ]}
          onValue={(wish) => {
            signsWithKey(wish === "signed");
          }}
        />
      )}
    </>
  );
}
