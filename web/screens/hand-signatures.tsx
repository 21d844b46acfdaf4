/** Names signed on the glass: the technician's, and the customer's where wanted. */
import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { filesOfJob, type Job, parseJob, type Signature, signatureField, signedContent } from "../../analysis/index.ts";
import { editJob, openJob } from "../job/open-job.ts";
import { offerUndo } from "../job/undo.ts";
import { TextField } from "../pieces/fields.tsx";
import { dayOf } from "../record/record-choice.ts";
import { sha256 } from "../record/web-crypto.ts";
import { jobText } from "../worker/folder.ts";

const signers = [
  ["technician", "Technician"],
  ["customer", "Customer"],
] as const;

export function HandSignatures({ document }: { document: Job }) {
  return (
    <section class="sheet" aria-labelledby="signatures-heading">
      <h2 id="signatures-heading">Sign on the glass</h2>
      <p class="field-note">
        A signature stands for the job as it is then: what is changed later is told on the record.
      </p>
      {signers.map(([by, words]) => {
        const signed = document.signatures?.find((one) => one.by === by);
        return signed ? (
          <Signed key={by} signature={signed} words={words} />
        ) : (
          <SignField key={by} by={by} words={words} document={document} />
        );
      })}
    </section>
  );
}

/** What the signature stands for is worked out on the job as its record will read it. */
async function signedHash(document: Job): Promise<string> {
  const { files } = openJob.value!;
  const { job } = parseJob(jobText(document));
  const hashes = filesOfJob(job).flatMap((name) => (files[name] ? [[name, files[name].sha256] as const] : []));
  return sha256(new TextEncoder().encode(signedContent(job, Object.fromEntries(hashes))));
}

interface SignFieldProps {
  readonly by: Signature["by"];
  readonly words: string;
  readonly document: Job;
}

function SignField({ by, words, document }: SignFieldProps) {
  const name = useSignal((by === "technician" ? document.technician : document.customer) ?? "");
  const strokes = useSignal<readonly (readonly number[])[]>([]);
  const keep = async () => {
    const signature: Signature = {
      by,
      name: name.value,
      date: dayOf(new Date()),
      strokes: strokes.value.map((stroke) => [...stroke]),
      over: await signedHash(document),
    };
    editJob((draft) => {
      draft.signatures = [...(draft.signatures ?? []).filter((one) => one.by !== by), signature];
    });
  };
  const hasSigned = strokes.value.length > 0;
  return (
    <details class="sign-field">
      <summary>{words} signs</summary>
      <div class="row-body">
        <TextField
          label="Name"
          value={name.value}
          onValue={(text) => {
            name.value = text;
          }}
        />
        <Glass
          label={`${words}, sign here`}
          strokes={strokes.value}
          onStrokes={(drawn) => {
            strokes.value = drawn;
          }}
        />
        <div class="actions">
          <button
            type="button"
            class="main-action"
            disabled={!hasSigned && name.value.trim() === ""}
            onClick={() => void keep()}
          >
            {hasSigned ? "Keep the signature" : "Sign by name alone"}
          </button>
          <button
            type="button"
            disabled={!hasSigned}
            onClick={() => {
              strokes.value = [];
            }}
          >
            Wipe
          </button>
        </div>
      </div>
    </details>
  );
}

/** Finger, pen or mouse; who cannot draw signs by name. */
function Glass(props: {
  label: string;
  strokes: readonly (readonly number[])[];
  onStrokes: (strokes: readonly (readonly number[])[]) => void;
}) {
  const glass = useRef<SVGSVGElement>(null);
  const drawing = useRef(false);
  const latest = useRef(props.strokes);
  latest.current = props.strokes;
  const { width, height } = signatureField;
  const point = (event: PointerEvent): [number, number] => {
    const box = glass.current!.getBoundingClientRect();
    const on = (value: number, size: number, most: number) =>
      Math.min(most, Math.max(0, Math.round((value / size) * most)));
    return [on(event.clientX - box.left, box.width, width), on(event.clientY - box.top, box.height, height)];
  };
  const extend = (event: PointerEvent) => {
    if (!drawing.current) return;
    const [x, y] = point(event);
    const stroke = latest.current.at(-1) ?? [];
    if (stroke.at(-2) === x && stroke.at(-1) === y) return;
    props.onStrokes([...latest.current.slice(0, -1), [...stroke, x, y]]);
  };
  return (
    <svg
      ref={glass}
      class="glass"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={props.label}
      onPointerDown={(event) => {
        drawing.current = true;
        glass.current!.setPointerCapture(event.pointerId);
        props.onStrokes([...latest.current, point(event)]);
      }}
      onPointerMove={extend}
      onPointerUp={() => {
        drawing.current = false;
      }}
      onPointerCancel={() => {
        drawing.current = false;
      }}
    >
      <path class="glass-line" d={`M20 ${height - 40}H${width - 20}`} />
      {props.strokes.map((stroke, index) => (
        <polyline key={index} points={stroke.join(" ")} />
      ))}
    </svg>
  );
}

function Signed({ signature, words }: { signature: Signature; words: string }) {
  const { by, name, date, strokes } = signature;
  const { width, height } = signatureField;
  const takeBack = () => {
    editJob((draft) => {
      draft.signatures = (draft.signatures ?? []).filter((one) => one.by !== by);
    });
    offerUndo(`${words}: signature taken back.`, () =>
      editJob((draft) => {
        draft.signatures = [...(draft.signatures ?? []), structuredClone(signature)];
      }),
    );
  };
  return (
    <div class="signed">
      <svg class="glass" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={`Signature: ${words}`}>
        {strokes.map((stroke) => (
          <polyline key={stroke.join()} points={stroke.join(" ")} />
        ))}
      </svg>
      <p>{[words, name, date].filter(Boolean).join(", ")}</p>
      <button type="button" aria-label={`${words}: take the signature back`} onClick={takeBack}>
        Take it back
      </button>
    </div>
  );
}
