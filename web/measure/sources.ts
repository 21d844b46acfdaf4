/** The ways to a meter in this browser: which there are, why one is missing and what works instead, and how each is opened. */
import { BluetoothStream, fullUuid } from "../meter/bluetooth-stream.ts";
import type { ByteLog } from "../meter/byte-log.ts";
import { keptMeters } from "../meter/kept-meters.ts";
import { LiveMeter } from "../meter/live-meter.ts";
import type { MeterLink } from "../meter/meter-database.ts";
import { LinkTrouble } from "../meter/meter-stream.ts";
import { ReplayStream } from "../meter/replay-stream.ts";
import { type SerialSettings, SerialStream } from "../meter/serial-stream.ts";
import { ServerStream } from "../meter/server-stream.ts";

const instead =
  "What works here all the same: typing the number, or opening a log that the meter or its own app wrote.";

/** Why there is no Bluetooth; null where there is. */
export function withoutBluetooth(): string | null {
  if (navigator.bluetooth) return null;
  if (!isSecureContext)
    return `Browsers give Bluetooth only to pages that come over https or from this very device. ${instead}`;
  return `This browser has no Bluetooth for pages: Chrome and Edge have it, on Android and on most computers; Safari, Firefox and all browsers of iPhones have not. ${instead}`;
}

export function withoutSerial(): string | null {
  if (navigator.serial) return null;
  if (!isSecureContext)
    return `Browsers give serial ports only to pages that come over https or from this very device. ${instead}`;
  return "This browser has no serial ports for pages: Chrome and Edge have them, and newer Firefox on computers. A meter that is plugged into the server's machine can be read all the same.";
}

/**
 * A page sees only services that it names beforehand. Named are the range of short numbers that makers of modules use
 * for their own (common practice), Automation IO, and what is typed or known from kept meters.
 */
function servicesToSee(typed: readonly string[]): (string | number)[] {
  const own = Array.from({ length: 0x100 }, (_, i) => fullUuid(0xff00 + i));
  const known = keptMeters.value.flatMap(({ link }) => link?.services ?? []);
  return [...new Set([fullUuid(0x1815), ...own, ...known, ...typed])];
}

/** 'FFE0', '0xFFE0' or a whole UUID, several with blanks or commas between. @throws {LinkTrouble} naming what is none */
export function parseServices(text: string): string[] {
  return text
    .split(/[\s,;]+/)
    .filter((word) => word !== "")
    .map((word) => {
      const short = /^(?:0x)?([0-9a-f]{4})$/i.exec(word)?.[1];
      if (short) return fullUuid(Number.parseInt(short, 16));
      if (/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(word)) return word.toLowerCase();
      throw new LinkTrouble(`Service: should be four or 32 hexadecimal figures, as FFE0; got “${word}”.`);
    });
}

async function opened(meter: LiveMeter): Promise<LiveMeter> {
  await meter.open();
  return meter;
}

export async function openBluetooth(typedServices: string): Promise<LiveMeter> {
  const typed = parseServices(typedServices);
  let device: BluetoothDevice;
  try {
    device = await navigator.bluetooth!.requestDevice({
      acceptAllDevices: true,
      optionalServices: servicesToSee(typed),
    });
  } catch (error) {
    throw new LinkTrouble(bluetoothRefusal(error as Error));
  }
  const link: MeterLink = { kind: "bluetooth", ...(typed.length > 0 ? { services: typed } : {}) };
  return opened(new LiveMeter(new BluetoothStream(device), link));
}

function bluetoothRefusal({ name, message }: Error): string {
  if (name === "NotFoundError" && /adapter/i.test(message))
    return "Bluetooth is off, or this device has none: switch it on, then try again.";
  if (name === "NotFoundError") return "No meter was chosen. Wake the meter, stay close to it, and try again.";
  if (name === "SecurityError" || name === "NotAllowedError")
    return "Bluetooth is blocked for this page: allow it in the browser's page settings (left of the address), then try again.";
  return `Bluetooth does not answer: ${message}`;
}

export async function openSerial(settings: SerialSettings): Promise<LiveMeter> {
  let port: SerialPort;
  try {
    port = await navigator.serial!.requestPort();
  } catch (error) {
    const { name } = error as Error;
    throw new LinkTrouble(
      name === "NotFoundError"
        ? "No port was chosen. Plug the cable in, and try again."
        : "Serial ports are blocked for this page: allow them in the browser's page settings, then try again.",
    );
  }
  return opened(new LiveMeter(new SerialStream(port, settings), { kind: "serial", serial: settings }));
}

export function openServerPort(path: string, settings: SerialSettings): Promise<LiveMeter> {
  return opened(new LiveMeter(new ServerStream(path, settings), { kind: "serial", serial: settings }));
}

export function openRecording(log: ByteLog, speed: number, name: string): Promise<LiveMeter> {
  return opened(new LiveMeter(new ReplayStream(log, speed, name), null));
}
