/** Describe: what the job is, what the set draws, the circuit itself; what to expect of it answers at every keystroke. */
import type { Job } from "../../analysis/index.ts";
import { isPart, withInterval } from "../../analysis/index.ts";
import { type Expected, expected, expectedOf } from "../job/expected.ts";
import { editJob, job } from "../job/open-job.ts";
import { lengthText } from "../job/wire-size.ts";
import { ChoiceField, NumberField, TextField } from "../pieces/fields.tsx";
import { ProfileView } from "../pieces/profile-view.tsx";
import { ProtectionList } from "../pieces/protection-list.tsx";
import { settings } from "../settings.ts";
import { smallVolts } from "../words/shown.ts";
import { LoopEditor } from "./loop-editor.tsx";
import { MeterEditor } from "./meter-editor.tsx";

export function DescribeScreen() {
  const document = job.value!;
  const now = expected.value ?? expectedOf(document);
  return (
    <div class="two-sheets">
      <div class="stack">
        <h1>Circuit</h1>
        <Answer document={document} now={now} />
        <TitleBlock document={document} />
        <SetFields document={document} />
        <section class="sheet" aria-labelledby="circuit-heading">
          <h2 id="circuit-heading">The circuit, battery + round to battery −</h2>
          <p class="field-note">Tap a line to change it. With keys: Alt and the up or down arrow moves it.</p>
          <LoopEditor job={document} dropText={(id) => smallDrop(now.expected, id)} />
        </section>
        <FeedFields document={document} />
        <MeterEditor document={document} />
      </div>
      <div class="stack beside">
        {now.expected && (
          <section aria-labelledby="staircase-heading">
            <h2 id="staircase-heading">
              What it should lose{now.expected.ampsKnown ? "" : ` at ${now.expected.amps} A`}
            </h2>
            <ProfileView
              job={document}
              expectedDropOf={now.expected.dropOf}
              summary={`Expected: ${withInterval(now.expected.totalVolts, "V")} lost round the circuit at ${now.expected.amps} A.`}
            />
          </section>
        )}
        {now.expected && <ProtectionList checks={now.expected.protection} />}
      </div>
    </div>
  );
}

function smallDrop(now: Expected | null, id: string): string {
  const drop = now?.dropOf(id);
  return drop ? smallVolts(drop.value) : "";
}

/** The answer that stays in sight while the rest is typed. */
function Answer({ document, now }: { document: Job; now: ReturnType<typeof expectedOf> }) {
  if (now.trouble !== null) {
    return (
      <p class="answer answer-bad" role="status">
        {now.trouble}
      </p>
    );
  }
  const { totalVolts, limitVolts, undersized, ampsKnown, amps } = now.expected;
  return (
    <div class={`answer ${undersized ? "answer-bad" : ""}`} role="status">
      <p>
        <strong>{smallVolts(totalVolts.value)}</strong> should be lost of {smallVolts(limitVolts)} allowed
        {ampsKnown ? ` at ${amps} A` : `, at ${amps} A supposed: write down what the set draws`}
      </p>
      <meter
        min={0}
        max={Math.max(limitVolts * 1.25, totalVolts.value)}
        high={limitVolts}
        value={totalVolts.value}
        aria-label={`${smallVolts(totalVolts.value)} of ${smallVolts(limitVolts)}`}
      />
      {undersized && <p>{remedy(document, now.expected)}</p>}
    </div>
  );
}

function remedy(document: Job, { smallest }: Expected): string {
  const size =
    settings.value.gauge === "awg"
      ? smallest?.awg && `${smallest.awg} AWG`
      : smallest?.squareMillimetres && `${smallest.squareMillimetres} mm²`;
  if (size) return `Too light for the run: ${size} throughout would keep the limit.`;
  const metres = document.loop.reduce<number>(
    (sum, item) => sum + (isPart(item) && item.part === "wire" ? item.metres : 0),
    0,
  );
  return `Too much for any listed wire size over ${lengthText(metres, settings.value.length)}: shorten the run or spare joints.`;
}

function TitleBlock({ document }: { document: Job }) {
  const text = (field: "title" | "vehicle" | "customer" | "technician" | "notes" | "vehicleId") => (value: string) =>
    editJob((draft) => {
      draft[field] = value;
    });
  return (
    <section class="sheet title-block" aria-label="The job">
      <div class="fields">
        <div class="wide">
          <TextField label="Job" value={document.title} onValue={text("title")} />
        </div>
      </div>
      <details>
        <summary>Vehicle, customer, notes</summary>
        <div class="fields">
          <TextField label="Vehicle or boat" value={document.vehicle} onValue={text("vehicle")} />
          <TextField label="Its number or mark" value={document.vehicleId} onValue={text("vehicleId")} />
          <TextField label="Customer" value={document.customer} onValue={text("customer")} />
          <TextField label="Technician" value={document.technician} onValue={text("technician")} />
          <div class="wide">
            <TextField long label="Notes" value={document.notes} onValue={text("notes")} />
          </div>
        </div>
      </details>
    </section>
  );
}

function SetFields({ document }: { document: Job }) {
  const { load } = document;
  const set = (field: "transmitAmps" | "idleAmps" | "minimumVolts" | "ratedVolts") => (value: number | undefined) =>
    editJob((draft) => {
      draft.load[field] = value;
    });
  return (
    <section class="sheet" aria-labelledby="set-heading">
      <h2 id="set-heading">The set</h2>
      <div class="fields">
        <div class="wide">
          <TextField
            label="What it is"
            value={load.label}
            onValue={(label) =>
              editJob((draft) => {
                draft.load.label = label;
              })
            }
          />
        </div>
        <NumberField
          label="Draws keyed"
          unit="A"
          path="load.transmitAmps"
          value={load.transmitAmps}
          least={0.01}
          most={10000}
          onValue={set("transmitAmps")}
        />
        <NumberField
          label="Draws receiving"
          unit="A"
          path="load.idleAmps"
          value={load.idleAmps}
          least={0}
          most={10000}
          onValue={set("idleAmps")}
        />
        <NumberField
          label="Resets below"
          unit="V"
          path="load.minimumVolts"
          value={load.minimumVolts}
          least={0.1}
          most={100}
          onValue={set("minimumVolts")}
        />
        <NumberField
          label="Made for"
          unit="V"
          path="load.ratedVolts"
          value={load.ratedVolts}
          least={0.1}
          most={100}
          onValue={set("ratedVolts")}
        />
      </div>
    </section>
  );
}

function FeedFields({ document }: { document: Job }) {
  const { limits, battery, ambientCelsius } = document;
  const fahrenheit = settings.value.temperature === "F";
  return (
    <section class="sheet" aria-labelledby="limits-heading">
      <h2 id="limits-heading">Limit, battery, warmth</h2>
      <div class="fields">
        <NumberField
          label="May lose in all"
          unit="V"
          path="limits.totalDropVolts"
          value={limits.totalDropVolts}
          least={0.01}
          most={24}
          hint={limits.totalDropPercent === undefined ? "0.5 V where left empty (common practice)" : undefined}
          onValue={(value) =>
            editJob((draft) => {
              draft.limits.totalDropVolts = value;
            })
          }
        />
        <NumberField
          label="or of 12 V"
          unit="%"
          path="limits.totalDropPercent"
          value={limits.totalDropPercent}
          least={0.1}
          most={100}
          onValue={(value) =>
            editJob((draft) => {
              draft.limits.totalDropPercent = value;
            })
          }
        />
        <NumberField
          label="Warmth where it runs"
          unit={fahrenheit ? "°F" : "°C"}
          path="ambientCelsius"
          value={ambientCelsius === undefined ? undefined : fahrenheit ? ambientCelsius * 1.8 + 32 : ambientCelsius}
          least={fahrenheit ? -76 : -60}
          most={fahrenheit ? 248 : 120}
          onValue={(value) =>
            editJob((draft) => {
              draft.ambientCelsius = value === undefined ? undefined : fahrenheit ? (value - 32) / 1.8 : value;
            })
          }
        />
        <ChoiceField
          label="Battery"
          value={battery.type ?? ""}
          choices={[
            ["", "Not known"],
            ["flooded", "Flooded"],
            ["agm", "AGM"],
            ["gel", "Gel"],
            ["lithium", "Lithium"],
          ]}
          onValue={(type) =>
            editJob((draft) => {
              draft.battery.type = (type || undefined) as Job["battery"]["type"];
            })
          }
        />
        <NumberField
          label="Battery size"
          unit="Ah"
          path="battery.ampereHours"
          value={battery.ampereHours}
          least={0.1}
          most={100000}
          onValue={(value) =>
            editJob((draft) => {
              draft.battery.ampereHours = value;
            })
          }
        />
        <ChoiceField
          label="Fed from"
          value={document.source.kind ?? ""}
          choices={[
            ["", "Not known"],
            ["battery", "The battery"],
            ["isolated-battery", "A battery behind an isolator"],
            ["converter", "A DC-DC converter"],
          ]}
          onValue={(kind) =>
            editJob((draft) => {
              draft.source.kind = (kind || undefined) as Job["source"]["kind"];
            })
          }
        />
        <ChoiceField
          label="Fitted in"
          value={document.setting ?? "vehicle"}
          choices={[
            ["vehicle", "A vehicle"],
            ["boat", "A boat"],
          ]}
          onValue={(setting) =>
            editJob((draft) => {
              draft.setting = setting as Job["setting"];
            })
          }
        />
      </div>
    </section>
  );
}
