/** Connecting a meter: the ways there are, what the browser will ask, and what works where a way is missing. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { parseByteLog } from "../meter/byte-log.ts";
import type { LiveMeter } from "../meter/live-meter.ts";
import { type SerialSettings, usualSerial } from "../meter/serial-stream.ts";
import { type ServerPort, serverPorts } from "../meter/server-stream.ts";
import { ChoiceField, Segments, TextField } from "../pieces/fields.tsx";
import { FileButton } from "../pieces/file-button.tsx";
import { addMeter } from "./live-state.ts";
import {
  openBluetooth,
  openRecording,
  openSerial,
  openServerPort,
  withoutBluetooth,
  withoutSerial,
} from "./sources.ts";

type Way = "bluetooth" | "serial" | "server" | "recording";

const ways: readonly (readonly [Way, string])[] = [
  ["bluetooth", "Bluetooth"],
  ["serial", "Cable"],
  ["server", "Server’s cable"],
  ["recording", "Recording"],
];

export function ConnectMeter({ onDone }: { onDone: () => void }) {
  const way = useSignal<Way>(withoutBluetooth() === null || withoutSerial() !== null ? "bluetooth" : "serial");
  const trouble = useSignal<string | null>(null);
  const busy = useSignal(false);
  const connect = async (open: () => Promise<LiveMeter>) => {
    trouble.value = null;
    busy.value = true;
    try {
      addMeter(await open());
      onDone();
    } catch (error) {
      trouble.value = (error as Error).message;
    }
    busy.value = false;
  };
  return (
    <section class="sheet" aria-labelledby="connect-heading">
      <h2 id="connect-heading">Connect a meter</h2>
      <Segments label="It comes by" value={way.value} choices={ways} onValue={(value) => (way.value = value as Way)} />
      {way.value === "bluetooth" && <ByBluetooth busy={busy.value} connect={connect} />}
      {way.value === "serial" && <ByCable busy={busy.value} connect={connect} />}
      {way.value === "server" && <ByServer busy={busy.value} connect={connect} />}
      {way.value === "recording" && <ByRecording connect={connect} onTrouble={(words) => (trouble.value = words)} />}
      {busy.value && <p role="status">Connecting …</p>}
      {trouble.value && (
        <p class="notice notice-bad" role="alert">
          {trouble.value}
        </p>
      )}
    </section>
  );
}

interface WayProps {
  readonly busy: boolean;
  readonly connect: (open: () => Promise<LiveMeter>) => Promise<void>;
}

function ByBluetooth({ busy, connect }: WayProps) {
  const services = useSignal("");
  const missing = withoutBluetooth();
  if (missing) return <p class="notice">{missing}</p>;
  return (
    <>
      <p>
        Switch the meter’s Bluetooth on. The browser then lists what is near and asks which one it is; it gives this
        page that one device and nothing else.
      </p>
      <button
        type="button"
        class="main-action"
        disabled={busy}
        onClick={() => void connect(() => openBluetooth(services.value))}
      >
        Choose the meter
      </button>
      <details>
        <summary>It connects, but nothing is heard</summary>
        <TextField
          label="Service"
          value={services.value}
          hint="A page sees only services that are named before it connects. The meter’s papers, or any Bluetooth viewer, say which it has: four figures as FFE0, or the whole UUID."
          onValue={(value) => (services.value = value)}
        />
      </details>
    </>
  );
}

function ByCable({ busy, connect }: WayProps) {
  const line = useSignal(usualSerial);
  const missing = withoutSerial();
  if (missing) return <p class="notice">{missing}</p>;
  return (
    <>
      <p>
        Plug the meter’s cable in and switch its link on. The browser then lists the ports and asks which one it is;
        other programs that use the port must be closed.
      </p>
      <LineFields line={line.value} onLine={(next) => (line.value = next)} />
      <button
        type="button"
        class="main-action"
        disabled={busy}
        onClick={() => void connect(() => openSerial(line.value))}
      >
        Choose the port
      </button>
    </>
  );
}

function ByServer({ busy, connect }: WayProps) {
  const ports = useSignal<ServerPort[] | null | undefined>(undefined);
  const path = useSignal("");
  const line = useSignal(usualSerial);
  useEffect(() => {
    void serverPorts().then((found) => {
      ports.value = found;
      path.value ||= found?.[0]?.path ?? "";
    });
  }, []);
  if (ports.value === undefined) return <p>Asking the server …</p>;
  if (ports.value === null) {
    return (
      <p class="notice">
        No server is in reach that could read a port. Start it on the machine that the meter is plugged into, and open
        the app from there.
      </p>
    );
  }
  return (
    <>
      <p>The meter is plugged into the machine that the server runs on; the server reads the port and passes it on.</p>
      {ports.value.length > 0 && (
        <ChoiceField
          label="Ports that it has"
          value={path.value}
          choices={[["", "none of these"], ...ports.value.map(({ path, words }) => [path, words || path] as const)]}
          onValue={(value) => (path.value = value)}
        />
      )}
      <TextField
        label="Port"
        value={path.value}
        hint="As the machine calls it: /dev/ttyUSB0, COM3"
        onValue={(value) => (path.value = value)}
      />
      <LineFields line={line.value} onLine={(next) => (line.value = next)} />
      <button
        type="button"
        class="main-action"
        disabled={busy || path.value === ""}
        onClick={() => void connect(() => openServerPort(path.value.trim(), line.value))}
      >
        Read this port
      </button>
    </>
  );
}

const speeds = ["1200", "2400", "4800", "9600", "19200", "38400", "57600", "115200"];

function LineFields({ line, onLine }: { line: SerialSettings; onLine: (line: SerialSettings) => void }) {
  const framing = `${line.dataBits}${line.parity.charAt(0).toUpperCase()}${line.stopBits}`;
  const framed = (text: string): SerialSettings => ({
    ...line,
    dataBits: text.startsWith("7") ? 7 : 8,
    parity: text[1] === "E" ? "even" : text[1] === "O" ? "odd" : "none",
    stopBits: text[2] === "2" ? 2 : 1,
  });
  return (
    <div class="fields">
      <ChoiceField
        label="Bits a second"
        value={String(line.baudRate)}
        choices={speeds.map((speed) => [speed, speed])}
        onValue={(value) => onLine({ ...line, baudRate: Number(value) })}
      />
      <ChoiceField
        label="Framing"
        value={framing}
        choices={["8N1", "8N2", "7E1", "7O1", "8E1", "8O1", "7N2"].map((each) => [each, each])}
        onValue={(value) => onLine(framed(value))}
      />
    </div>
  );
}

function ByRecording({ connect, onTrouble }: Pick<WayProps, "connect"> & { onTrouble: (words: string) => void }) {
  const speed = useSignal("1");
  const take = async ([file]: File[]) => {
    try {
      const log = parseByteLog(await file!.text(), file!.name);
      await connect(() => openRecording(log, Number(speed.value), file!.name));
    } catch (error) {
      onTrouble((error as Error).message);
    }
  };
  return (
    <>
      <p>
        A recording of a meter’s bytes is played as if the meter were there: to learn, to teach, or to show what went
        wrong.
      </p>
      <Segments
        label="Speed"
        value={speed.value}
        choices={[
          ["1", "As it was"],
          ["4", "Four times"],
          ["20", "Twenty times"],
        ]}
        onValue={(value) => (speed.value = value)}
      />
      <FileButton words="Open a recording" main onFiles={(files) => void take(files)} />
    </>
  );
}
