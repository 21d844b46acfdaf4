/** Where other devices reach this machine, and the QR code that brings them there. */
import { hostname, networkInterfaces } from "node:os";
import qrcode from "qrcode-generator";

/** @returns the machine's own addresses on its networks, and its names there */
export function ownHosts(): { readonly addresses: readonly string[]; readonly names: readonly string[] } {
  const addresses = Object.values(networkInterfaces())
    .flatMap((entries) => entries ?? [])
    .filter(({ internal, family }) => !internal && family === "IPv4")
    .map(({ address }) => address);
  const name = hostname().toLowerCase();
  return { addresses, names: name.includes(".") ? [name] : [name, `${name}.local`] };
}

/** The code stands behind the #, which no browser sends over the network or writes into a server's log. */
export const pairingAddress = (address: string, code: string): string => `${address.replace(/\/$/, "")}/#/pair/${code}`;

/** A QR code of half-block signs, dark on light whatever the terminal's colours, with the quiet zone that ISO/IEC 18004 asks for (4 modules; from memory). */
export function terminalQr(text: string): string {
  const code = qrcode(0, "M");
  code.addData(text);
  code.make();
  const size = code.getModuleCount();
  const dark = (row: number, column: number) =>
    row >= 0 && column >= 0 && row < size && column < size && code.isDark(row, column);
  const lines: string[] = [];
  for (let row = -4; row < size + 4; row += 2) {
    let line = "";
    for (let column = -4; column < size + 4; column++) {
      const [upper, lower] = [dark(row, column), dark(row + 1, column)];
      line += upper ? (lower ? " " : "▄") : lower ? "▀" : "█";
    }
    lines.push(`\x1b[97;40m${line}\x1b[0m`);
  }
  return lines.join("\n");
}
