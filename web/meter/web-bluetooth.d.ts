/** The part of Web Bluetooth that meters need, as the community group's draft has it (W3C WebBluetoothCG, from memory). */
interface BluetoothRemoteGATTCharacteristic extends EventTarget {
  readonly uuid: string;
  readonly service: BluetoothRemoteGATTService;
  readonly properties: {
    readonly read: boolean;
    readonly write: boolean;
    readonly writeWithoutResponse: boolean;
    readonly notify: boolean;
    readonly indicate: boolean;
  };
  readonly value?: DataView;
  readValue(): Promise<DataView>;
  writeValueWithResponse(bytes: BufferSource): Promise<void>;
  writeValueWithoutResponse(bytes: BufferSource): Promise<void>;
  startNotifications(): Promise<BluetoothRemoteGATTCharacteristic>;
  stopNotifications(): Promise<BluetoothRemoteGATTCharacteristic>;
}

interface BluetoothRemoteGATTService {
  readonly uuid: string;
  readonly device: BluetoothDevice;
  getCharacteristics(): Promise<BluetoothRemoteGATTCharacteristic[]>;
}

interface BluetoothRemoteGATTServer {
  readonly connected: boolean;
  connect(): Promise<BluetoothRemoteGATTServer>;
  disconnect(): void;
  getPrimaryServices(): Promise<BluetoothRemoteGATTService[]>;
}

interface BluetoothDevice extends EventTarget {
  readonly id: string;
  readonly name?: string | null;
  readonly gatt?: BluetoothRemoteGATTServer;
}

interface Bluetooth extends EventTarget {
  getAvailability(): Promise<boolean>;
  /** behind a flag in some browsers */
  getDevices?(): Promise<BluetoothDevice[]>;
  requestDevice(wish: {
    acceptAllDevices?: boolean;
    filters?: { services?: (string | number)[]; namePrefix?: string }[];
    optionalServices?: (string | number)[];
  }): Promise<BluetoothDevice>;
}

interface Navigator {
  /** absent where the browser has no Bluetooth */
  readonly bluetooth?: Bluetooth;
}
