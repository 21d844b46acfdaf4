/** Where there is a server: a code by which a helper's phone shows KEY and RELEASE. */
import { effect } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { GuidedReading } from "../meter/guided-reading.ts";
import { helperHears, helperRoom, type KeyWord, openRoom, tellHelper } from "../meter/helper-phone.ts";
import { QrCode } from "../pieces/qr-code.tsx";
import { reading } from "./live-state.ts";

/** A set is not held keyed for longer than a reading needs. */
const longestSeconds = 5;

function wordFor({ wish, progress }: GuidedReading): KeyWord {
  const { waiting, keyedForSeconds } = progress.value;
  if (wish.radio !== "transmit") return "wait";
  if (waiting === "captured" || (keyedForSeconds ?? 0) > longestSeconds) return "release";
  return waiting === "keying" || waiting === "settling" ? "key" : "wait";
}

export function HelperInvitation() {
  useEffect(
    () =>
      effect(() => {
        const taking = reading.value;
        if (helperRoom.value) void tellHelper(taking ? wordFor(taking) : "wait");
      }),
    [],
  );
  const room = helperRoom.value;
  const address = room && `${location.origin}${location.pathname}#/key?room=${room}`;
  return (
    <details>
      <summary>A helper keys the set</summary>
      <div class="row-body">
        <p class="field-note">
          A second phone shows KEY and RELEASE as large as it can. Both phones must have this page from the same server,
          and the second must be paired with it (Settings).
        </p>
        {!address && (
          <button type="button" onClick={openRoom}>
            Show the code for the second phone
          </button>
        )}
        {address && (
          <figure>
            <QrCode text={address} label="Code that shows KEY and RELEASE on a second phone" />
            <figcaption>Or open there: {address}</figcaption>
          </figure>
        )}
        {room && !helperHears.value && <p role="alert">The server does not answer: say it aloud.</p>}
      </div>
    </details>
  );
}
