/** `pair`: a code for one phone, drawn in the terminal; with a name, for that account. */
import { Problem } from "../../analysis/index.ts";
import { pairingAddress, terminalQr } from "../accounts/pairing-address.ts";
import type { Settings } from "../data-folder.ts";
import type { Services } from "../services.ts";
import { siteOf } from "../site.ts";
import { type Author, ownShop } from "../store/job-store.ts";

/** @param author left out: the device of whoever has the shop's passphrase @throws {Problem} where no phone can reach the server */
export async function pairPhone(
  { accounts }: Services,
  settings: Settings,
  author: Author = { shop: ownShop, account: null },
): Promise<string> {
  const [address] = siteOf(settings).reachedAt;
  if (address === undefined) {
    throw new Problem("HOST should be 0.0.0.0 or an address of this machine, so that a phone can reach the server");
  }
  const { code } = await accounts.offerPairing(author);
  const target = pairingAddress(address, code);
  return `${terminalQr(target)}\nFor five minutes, and for one phone: ${target}`;
}
