/** Which serial ports this machine has. A list that cannot be had is empty: a path can always be typed. */
export interface PortFound {
  readonly path: string;
  /** what the system says is plugged in there, where it says anything */
  readonly words: string;
}

export async function serialPorts(): Promise<PortFound[]> {
  try {
    const { SerialPort } = await import("serialport");
    const found = await SerialPort.list();
    return found.map((port) => ({ path: port.path, words: wordsOf(port) }));
  } catch {
    return [];
  }
}

/** A label of the system's own, as `friendlyName` on some systems; nothing is looked up. */
function wordsOf(port: object): string {
  const { friendlyName, serialNumber } = port as { friendlyName?: string; serialNumber?: string };
  return friendlyName ?? (serialNumber ? `serial number ${serialNumber}` : "");
}
