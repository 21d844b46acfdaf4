/**
 * A meter over Bluetooth: any service, any characteristics, notified or read. The link is made anew by itself when it
 * is lost, and then with new characteristics: the old ones are dead. Every call has its own time-out.
 */
import { meterNow } from "./meter-clock.ts";
import { inTime, LinkTrouble, type MeterStream, pause, retrySeconds, type StreamListener } from "./meter-stream.ts";

export interface BluetoothWish {
  /** the characteristic to hear; left out: all that notify, else all that can be read */
  readonly characteristic?: string;
  /** between two reads of a characteristic that does not notify */
  readonly readEverySeconds?: number;
  readonly connectSeconds?: number;
  readonly callSeconds?: number;
}

/** 16-bit UUIDs of the Bluetooth SIG in full (Core Specification, vol. 3 part B, 2.5.1; from memory). */
export const fullUuid = (short: number): string =>
  `0000${short.toString(16).padStart(4, "0")}-0000-1000-8000-00805f9b34fb`;

/** Generic access, generic attributes, device information and the device's own battery carry no reading. */
const housekeeping = new Set([0x1800, 0x1801, 0x180a, 0x180f].map(fullUuid));

export class BluetoothStream implements MeterStream {
  readonly kind = "bluetooth";
  readonly name: string;
  private listener: StreamListener | null = null;
  /** counts up with every link; what belongs to an older one is not listened to */
  private link = 0;
  private writable: BluetoothRemoteGATTCharacteristic | null = null;

  constructor(
    private readonly device: BluetoothDevice,
    private readonly wish: BluetoothWish = {},
  ) {
    this.name = device.name || "Bluetooth meter";
  }

  async open(listener: StreamListener): Promise<void> {
    this.listener = listener;
    listener.state("opening");
    this.device.addEventListener("gattserverdisconnected", this.disconnected);
    try {
      await this.connect();
    } catch (error) {
      await this.close();
      throw error instanceof LinkTrouble ? error : new LinkTrouble(refusal(error as Error));
    }
  }

  private async connect(): Promise<void> {
    const link = ++this.link;
    const { connectSeconds = 10 } = this.wish;
    const { gatt } = this.device;
    if (!gatt) throw new LinkTrouble("This device takes no connections: choose another.");
    try {
      const server = await inTime(gatt.connect(), connectSeconds, "connecting");
      const all = await this.characteristics(server);
      const heard = this.chosen(all);
      if (heard.length === 0) throw new LinkTrouble(nothingToHear(all.length));
      for (const characteristic of heard) await this.hear(characteristic, link);
      this.writable = writableBeside(heard[0]!, all);
    } catch (error) {
      if (link === this.link) gatt.disconnect();
      throw error;
    }
    if (link !== this.link) throw new LinkTrouble("The link was lost while it was being made.");
    this.listener?.state("open");
  }

  private async characteristics(server: BluetoothRemoteGATTServer): Promise<BluetoothRemoteGATTCharacteristic[]> {
    const { callSeconds = 5 } = this.wish;
    const services = await inTime(server.getPrimaryServices(), callSeconds * 2, "listing its services");
    const found: BluetoothRemoteGATTCharacteristic[] = [];
    for (const service of services) {
      found.push(...(await inTime(service.getCharacteristics(), callSeconds, "listing its characteristics")));
    }
    return found;
  }

  private chosen(all: readonly BluetoothRemoteGATTCharacteristic[]): BluetoothRemoteGATTCharacteristic[] {
    const { characteristic } = this.wish;
    if (characteristic !== undefined) return all.filter(({ uuid }) => uuid === characteristic);
    const carrying = all.filter(({ service }) => !housekeeping.has(service.uuid));
    const notifying = carrying.filter(({ properties }) => properties.notify || properties.indicate);
    return notifying.length > 0 ? notifying : carrying.filter(({ properties }) => properties.read);
  }

  private async hear(characteristic: BluetoothRemoteGATTCharacteristic, link: number): Promise<void> {
    const { callSeconds = 5 } = this.wish;
    const { notify, indicate } = characteristic.properties;
    if (!notify && !indicate) {
      void this.readOn(characteristic, link);
      return;
    }
    characteristic.addEventListener("characteristicvaluechanged", () => {
      if (link === this.link && characteristic.value) this.take(characteristic.value, characteristic.uuid);
    });
    await inTime(characteristic.startNotifications(), callSeconds, "asking it to notify");
  }

  private async readOn(characteristic: BluetoothRemoteGATTCharacteristic, link: number): Promise<void> {
    const { callSeconds = 5, readEverySeconds = 0.25 } = this.wish;
    try {
      while (link === this.link && this.listener) {
        const value = await inTime(characteristic.readValue(), callSeconds, "reading it");
        if (link === this.link) this.take(value, characteristic.uuid);
        await pause(readEverySeconds);
      }
    } catch {
      if (link === this.link) this.lost();
    }
  }

  private take(value: DataView, channel: string): void {
    const bytes = new Uint8Array(value.buffer, value.byteOffset, value.byteLength).slice();
    this.listener?.bytes({ seconds: meterNow(), bytes, channel });
  }

  private readonly disconnected = (): void => this.lost();

  private lost(): void {
    this.link++;
    this.writable = null;
    if (!this.listener || this.seeking) return;
    this.listener.state("lost");
    void this.seek();
  }

  private seeking = false;

  private async seek(): Promise<void> {
    this.seeking = true;
    for (let tries = 0; this.listener; tries++) {
      await pause(retrySeconds(tries));
      if (!this.listener) break;
      const made = await this.connect().then(
        () => true,
        () => false,
      );
      if (made) break;
    }
    this.seeking = false;
  }

  async send(bytes: Uint8Array): Promise<void> {
    const { writable } = this;
    if (!writable) throw new LinkTrouble("Nothing can be sent to this meter just now.");
    const { callSeconds = 5 } = this.wish;
    const sent = writable.properties.writeWithoutResponse
      ? writable.writeValueWithoutResponse(bytes as BufferSource)
      : writable.writeValueWithResponse(bytes as BufferSource);
    await inTime(sent, callSeconds, "sending to it");
  }

  async close(): Promise<void> {
    const { listener } = this;
    this.listener = null;
    this.link++;
    this.device.removeEventListener("gattserverdisconnected", this.disconnected);
    this.device.gatt?.disconnect();
    listener?.state("closed");
  }
}

/** What asks for a reading goes to the service that answers. */
function writableBeside(
  heard: BluetoothRemoteGATTCharacteristic,
  all: readonly BluetoothRemoteGATTCharacteristic[],
): BluetoothRemoteGATTCharacteristic | null {
  const writable = all.filter(({ properties }) => properties.write || properties.writeWithoutResponse);
  return writable.find(({ service }) => service.uuid === heard.service.uuid) ?? writable[0] ?? null;
}

const nothingToHear = (found: number): string =>
  found === 0
    ? "The meter is linked, but the browser may see none of its services: type the service's UUID, then connect again."
    : "The meter is linked, but nothing of it notifies or can be read: choose another service.";

function refusal({ name, message }: Error): string {
  if (name === "NetworkError") return "The meter did not take the connection: wake it, stay close, and try again.";
  if (name === "NotFoundError") return "The meter is linked, but the browser may see none of its services.";
  return `The meter cannot be heard: ${message}`;
}
