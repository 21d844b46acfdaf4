/** `certificate`: the shop's root and this machine's server certificate, and what to do on a phone. */
import { ownHosts } from "../accounts/pairing-address.ts";
import { makeCertificate, phoneSteps } from "../certificate.ts";
import type { Settings } from "../data-folder.ts";
import { certificateFolder } from "../site.ts";

/** @returns what was made and what to do now, as text */
export async function shopCertificate(settings: Settings): Promise<string> {
  const hosts = ownHosts();
  const { rootCertificate, endsMilliseconds } = await makeCertificate(certificateFolder(settings), hosts);
  const host = hosts.addresses[0] ?? hosts.names[0] ?? "localhost";
  const address = `https://${host}:${settings.PORT ?? "8080"}/`;
  const until = new Date(endsMilliseconds).toISOString().slice(0, 10);
  return `The certificate of this machine is good until ${until}, for ${[...hosts.names, ...hosts.addresses].join(", ")}.
Start the server with HOST=0.0.0.0 and a PASSPHRASE, and it uses it. Make it anew when the machine's address changes.

${phoneSteps(address, rootCertificate)}`;
}
