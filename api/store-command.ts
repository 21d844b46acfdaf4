/**
 * The commands over what the server keeps: `npm run store -- COMMAND …`, `npm run account -- add NAME`.
 * Each opens the store that the settings name, does one thing, and closes it.
 */
import { createInterface } from "node:readline/promises";
import { Problem } from "../analysis/index.ts";
import { backup } from "./commands/backup.ts";
import { exportJob } from "./commands/export-job.ts";
import { importFolder } from "./commands/import-folder.ts";
import { pairPhone } from "./commands/pair-phone.ts";
import { restore } from "./commands/restore.ts";
import { shopCertificate } from "./commands/shop-certificate.ts";
import { verifyStore } from "./commands/verify-store.ts";
import { openServices, type Services } from "./services.ts";

const usage = `Usage: npm run store -- COMMAND

  account add NAME   a sign-in for a technician; the password is asked for, or read from standard input
  backup FILE        everything that is kept, as one archive, while the server may go on working
  restore FILE       into an empty store
  verify             every hash and every reference; exit status 1 where something is damaged
  export JOB [FILE]  a kept job as a zipped job folder
  import FOLDER      a job folder or a zip of one
  pair               a code for a phone, to be scanned once
  certificate        a root for the shop and a certificate with this machine's addresses

DATA_DIR, DATABASE_URL and S3_ENDPOINT say where the store is, as for the server.
`;

type Command = (services: Services, words: readonly string[]) => Promise<string>;

const commands: Readonly<Record<string, { readonly words: readonly [least: number, most: number]; run: Command }>> = {
  account: { words: [2, 2], run: addAccount },
  backup: { words: [1, 1], run: async (services, [file]) => said("kept", await backup(services, file!)) },
  restore: { words: [1, 1], run: async (services, [file]) => said("restored", await restore(services, file!)) },
  verify: { words: [0, 0], run: verified },
  export: { words: [1, 2], run: (services, [id, file]) => exportJob(services, id!, file) },
  import: { words: [1, 1], run: (services, [path]) => importFolder(services, path!) },
  pair: { words: [0, 0], run: (services) => pairPhone(services, process.env) },
};

const said = (what: string, { rows, logs }: Awaited<ReturnType<typeof backup>>): string =>
  `${what}: ${rows.jobs} jobs, ${rows.revisions} revisions, ${logs} logs`;

async function addAccount(services: Services, [action, name]: readonly string[]): Promise<string> {
  if (action !== "add") throw new Problem(`an account can be added; got '${action}'`);
  const lines = createInterface({ input: process.stdin, output: process.stderr });
  const password = await lines.question(`Password for ${name}: `);
  lines.close();
  await services.accounts.add(name!, password);
  return `${name} can sign in`;
}

async function verified(services: Services): Promise<string> {
  const { jobs, revisions, logs, damage, notes } = await verifyStore(services);
  if (damage.length > 0) process.exitCode = 1;
  return [...damage, ...notes, `${jobs} jobs, ${revisions} revisions, ${logs} logs looked at`].join("\n");
}

async function run([name, ...words]: readonly string[]): Promise<string> {
  if (name === "certificate" && words.length === 0) return shopCertificate(process.env);
  const command = commands[name ?? ""];
  if (command === undefined || words.length < command.words[0] || words.length > command.words[1]) {
    process.exitCode = name === "--help" ? 0 : 2;
    return usage;
  }
  const services = await openServices(process.env);
  try {
    return await command.run(services, words);
  } finally {
    await services.close();
  }
}

run(process.argv.slice(2)).then(
  (text) => process.stdout.write(text.endsWith("\n") ? text : `${text}\n`),
  (error: unknown) => {
    process.exitCode = 1;
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  },
);
