/** The shop's certificates, checked by openssl where it is there and by an HTTPS client that trusts the root alone. */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { request } from "node:https";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { foundCertificate, makeCertificate } from "../../api/certificate.ts";
import { startServer } from "../fixtures/real-server.ts";

let data: string;
beforeAll(() => {
  data = mkdtempSync(join(tmpdir(), "certificate-"));
});
afterAll(() => rmSync(data, { recursive: true }));

const hosts = { addresses: ["192.0.2.7"], names: ["workshop", "workshop.local"] };
const openssl = (...words: string[]) => execFileSync("openssl", words, { encoding: "utf8" });

it("makes a root once, and server certificates under it that a strict reader accepts", async () => {
  const folder = join(data, "certificate");
  expect(foundCertificate(folder)).toBeNull();
  const first = await makeCertificate(folder, hosts);
  const root = readFileSync(first.rootCertificate, "utf8");
  const again = await makeCertificate(folder, hosts);
  expect(readFileSync(again.rootCertificate, "utf8")).toBe(root);
  expect(statSync(join(folder, "root.key")).mode & 0o777).toBe(0o600);
  const verify = ["verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", first.rootCertificate];
  for (const name of ["-verify_ip", "192.0.2.7", "-verify_hostname", "workshop.local"].join(" ").match(/-\S+ \S+/g)!) {
    expect(openssl(...verify, ...name.split(" "), again.serverCertificate)).toMatch(/: OK/);
  }
  expect(() => openssl(...verify, "-verify_hostname", "elsewhere.example", again.serverCertificate)).toThrow();
  expect(openssl("x509", "-in", again.serverCertificate, "-noout", "-text")).toMatch(/TLS Web Server Authentication/);
});

it("serves HTTPS with it to whoever trusts the root, with cookies for HTTPS alone", async () => {
  const settings = { DATA_DIR: data, HOST: "0.0.0.0", PASSPHRASE: "correct horse battery" };
  const server = await startServer(settings);
  const port = Number(new URL(server.address).port);
  expect(server.address).toMatch(/^https:/);
  const ca = readFileSync(join(data, "certificate/root.crt"), "utf8");
  const asking = {
    host: "127.0.0.1",
    port,
    ca,
    method: "POST",
    path: "/api/session",
    headers: { "content-type": "application/json" },
  };
  const cookie = await new Promise<string>((done, failed) => {
    const sent = request(asking, (response) => done(String(response.headers["set-cookie"])));
    sent.on("error", failed).end(JSON.stringify({ password: "correct horse battery" }));
  });
  expect(cookie).toMatch(/HttpOnly; Secure; SameSite=Strict/);
  expect(await server.end()).toBe(0);
});

it("does not start open to the network", async () => {
  await expect(startServer({ DATA_DIR: join(data, "other"), HOST: "0.0.0.0" })).rejects.toThrow(
    /ended with 1: At 0.0.0.0 others on the network can reach this server/,
  );
});
