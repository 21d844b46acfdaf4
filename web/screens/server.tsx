/** The server in the settings: whether this device follows one, signing in, and pairing a phone. */
import { useSignal } from "@preact/signals";
import { TextField } from "../pieces/fields.tsx";
import { QrCode } from "../pieces/qr-code.tsx";
import {
  door,
  type Following,
  following,
  followNow,
  jobStates,
  type OfferedPairing,
  offerPairing,
  pairingTrouble,
  signIn,
  signOut,
} from "../storage/sync/following.ts";

const words: Record<Following, string> = {
  "no-server": "This copy of the app has no server that keeps jobs: they stay on this device.",
  "not-signed-in": "The server wants to know who asks: until then jobs stay on this device.",
  "out-of-reach": "The server is out of reach. What you do is kept on this device and sent when it is back.",
  following: "Jobs and logs are kept on the server too, and what other devices change there comes here.",
};

export function ServerSettings() {
  const waiting = [...jobStates.value.values()].filter((state) => state === "waiting" || state === "kept-here").length;
  const mayPair = following.value === "following";
  return (
    <section aria-labelledby="server-heading" class="sheet">
      <h2 id="server-heading">Server</h2>
      <p role="status">{words[following.value]}</p>
      {following.value !== "no-server" && waiting > 0 && <p>{waiting} waiting to be sent.</p>}
      {pairingTrouble.value && <p role="alert">{pairingTrouble.value}</p>}
      {following.value === "not-signed-in" && <SignIn />}
      {following.value !== "no-server" && (
        <div class="actions">
          <button type="button" onClick={() => void followNow()}>
            Look now
          </button>
          {door.value?.signedIn && !door.value.open && (
            <button type="button" onClick={() => void signOut()}>
              Sign out
            </button>
          )}
        </div>
      )}
      {mayPair && <PairPhone />}
    </section>
  );
}

function SignIn() {
  const name = useSignal("");
  const password = useSignal("");
  const trouble = useSignal<string | null>(null);
  const enter = async (event: Event) => {
    event.preventDefault();
    trouble.value = await signIn(name.value.trim(), password.value);
  };
  return (
    <form class="sign-in" onSubmit={(event) => void enter(event)}>
      <TextField
        label={door.value?.passphrase ? "Name (none with the shop's passphrase)" : "Name"}
        value={name.value}
        onValue={(text) => {
          name.value = text;
        }}
      />
      <label class="field">
        <span>Password</span>
        <input
          type="password"
          autocomplete="current-password"
          value={password.value}
          onInput={(event) => {
            password.value = event.currentTarget.value;
          }}
        />
      </label>
      {trouble.value && <p role="alert">{trouble.value}</p>}
      <button type="submit">Sign in</button>
    </form>
  );
}

function PairPhone() {
  const offered = useSignal<OfferedPairing | null>(null);
  const offer = async () => {
    offered.value = await offerPairing();
  };
  return (
    <div class="pair">
      <button type="button" onClick={() => void offer()}>
        Pair a phone
      </button>
      {offered.value && offered.value.address === null && (
        <p>
          This server is reached from this machine alone. To reach it from a phone, start it with HOST=0.0.0.0 and a
          PASSPHRASE; npm run certificate makes the certificate that Bluetooth on the phone needs.
        </p>
      )}
      {offered.value?.address && (
        <figure>
          <QrCode text={offered.value.address} label="Code that pairs a phone" />
          <figcaption>
            Point the phone's camera here within five minutes. It works once. By hand: {offered.value.address}
          </figcaption>
        </figure>
      )}
    </div>
  );
}
