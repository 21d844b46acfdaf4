/** Where the server listens and by which names it is reached, from its settings: HOST, PORT, ALLOWED_HOSTS, and the certificate if one was made. */
import { join } from "node:path";
import { isLoopback, namesIn } from "./accounts/door.ts";
import { ownHosts } from "./accounts/pairing-address.ts";
import { foundCertificate } from "./certificate.ts";
import { dataFolder, type Settings } from "./data-folder.ts";

export interface Site {
  readonly hostname: string;
  readonly port: number;
  /** null: plain HTTP, as on loopback, where browsers trust it all the same */
  readonly tls: ReturnType<typeof foundCertificate>;
  /** every name that a request may carry as its Host, the loopback ones aside */
  readonly allowedHosts: readonly string[];
  /** where other devices reach it, the best first */
  readonly reachedAt: readonly string[];
}

export const certificateFolder = (settings: Settings): string => join(dataFolder(settings), "certificate");

export function siteOf(settings: Settings): Site {
  const { HOST: hostname = "127.0.0.1", PORT = "8080", ALLOWED_HOSTS = "" } = settings;
  const port = Number(PORT);
  if (!/^\d{1,5}$/.test(PORT) || port > 65_535)
    throw new Error(`PORT should be a number from 0 to 65535; got ${PORT}.`);
  const own = ownHosts();
  const everywhere = hostname === "0.0.0.0" || hostname === "::";
  const reached = everywhere ? [...own.addresses, ...own.names] : isLoopback(hostname) ? [] : [hostname];
  const tls = isLoopback(hostname) ? null : foundCertificate(certificateFolder(settings));
  const scheme = tls ? "https" : "http";
  return {
    hostname,
    port,
    tls,
    allowedHosts: [hostname, ...reached, ...namesIn(ALLOWED_HOSTS)],
    reachedAt: reached.map((host) => `${scheme}://${host}:${port}/`),
  };
}
