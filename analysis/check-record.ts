/**
 * Whether a record may be believed: every hash taken again, the job worked out again, the record made again,
 * and what is printed held against what follows from the logs inside.
 */

import { type OpenedRecord, openRecord, stampBytes } from "./document/carried-job.ts";
import { joined } from "./document/joined-bytes.ts";
import { type PrintedPage, printedPages } from "./document/printed-text.ts";
import { type FitsSignature, withoutSignature } from "./document/shop-signature.ts";
import { makeRecordPdf, type Sha256 } from "./make-record.ts";
import { Problem } from "./problem.ts";

/** What the platform brings: hashing, and checking a signature. */
export interface RecordMeans {
  readonly sha256: Sha256;
  readonly fits: FitsSignature;
}

export interface RecordCheck {
  /** true: nothing in the file differs from what follows from the logs inside */
  readonly follows: boolean;
  /** what differs, in words; empty where `follows` */
  readonly differences: readonly string[];
  readonly programVersion: string;
  readonly madeOn: string;
  readonly files: number;
  /** lower-case hex SHA-256 of the stamp, as it should stand on the paper */
  readonly recordHash: string;
  /** public key that the record says it is signed with, and whether every byte is as it was signed; null: not signed */
  readonly signature: { readonly publicKey: string; readonly fits: boolean } | null;
}

/** More differences than these are counted: one changed log moves many figures. */
const mostNamed = 12;

/**
 * @param bytes a record as a PDF
 * @param file what an error calls it
 * @param programVersion of the program that checks
 * @throws {Problem} where it is no record that can be opened
 */
export async function checkRecord(
  bytes: Uint8Array,
  file: string,
  programVersion: string,
  { sha256, fits }: RecordMeans,
): Promise<RecordCheck> {
  const record = await openRecord(bytes, file);
  const { stamp } = record;
  const { files, damaged } = unpacked(record);
  const apart = withoutSignature(bytes);
  const signature = await checkedSignature(stamp.signedWith, apart, fits);
  const differences = [
    ...signatureDifferences(signature, apart.signature !== null),
    ...damaged.values(),
    ...(await hashDifferences(record, files, damaged, sha256)),
  ];
  const again = await madeAgain(record, files, sha256);
  if (typeof again === "string") differences.push(again);
  else if (!sameBytes(apart.record, again))
    differences.push(...(await pageDifferences(record, again, differences.length > 0)));
  if (differences.length > 0 && stamp.programVersion !== programVersion) {
    differences.push(
      `the record was made by version ${stamp.programVersion} and is checked by ${programVersion}, which may word or weigh things otherwise`,
    );
  }
  return {
    follows: differences.length === 0,
    differences: shortened(differences),
    programVersion: stamp.programVersion,
    madeOn: stamp.madeOn,
    files: files.size,
    recordHash: await sha256(stampBytes(stamp)),
    signature,
  };
}

async function checkedSignature(
  publicKey: string | undefined,
  { record, signature }: ReturnType<typeof withoutSignature>,
  fits: FitsSignature,
): Promise<RecordCheck["signature"]> {
  if (publicKey === undefined) return null;
  return { publicKey, fits: signature !== null && (await fits(publicKey, signature, record)) };
}

function signatureDifferences(checked: RecordCheck["signature"], isThere: boolean): string[] {
  if (checked === null)
    return isThere ? ["a signature stands behind the record, which does not say that it is signed"] : [];
  if (checked.fits) return [];
  return [
    isThere
      ? `the file was altered after it was signed: the signature of the shop's key ${checked.publicKey} does not fit it`
      : `the record is said to be signed with the shop's key ${checked.publicKey}, and its signature is missing or damaged`,
  ];
}

/** Every file of the job inside, whole; of those that cannot be unpacked, the sentence that says so. */
function unpacked({ folder }: OpenedRecord): { files: Map<string, Uint8Array>; damaged: Map<string, string> } {
  const files = new Map<string, Uint8Array>();
  const damaged = new Map<string, string>();
  for (const name of folder.names) {
    try {
      files.set(name, joined([...(folder.read(name) ?? [])]));
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      damaged.set(name, error.message);
    }
  }
  return { files, damaged };
}

async function hashDifferences(
  { stamp }: OpenedRecord,
  files: ReadonlyMap<string, Uint8Array>,
  damaged: ReadonlyMap<string, string>,
  sha256: Sha256,
): Promise<string[]> {
  const found: string[] = [];
  for (const [name, hash] of Object.entries(stamp.hashes)) {
    if (damaged.has(name)) continue;
    const bytes = files.get(name);
    if (!bytes) found.push(`${name}: the record rests on this file, and it is not inside`);
    else if ((await sha256(bytes)) !== hash)
      found.push(`${name}: was changed after the record was made; its hash is another`);
  }
  for (const name of files.keys()) {
    if (!Object.hasOwn(stamp.hashes, name)) found.push(`${name}: lies inside, and the record does not name it`);
  }
  return found;
}

async function madeAgain(
  { stamp }: OpenedRecord,
  files: ReadonlyMap<string, Uint8Array>,
  sha256: Sha256,
): Promise<Uint8Array | string> {
  try {
    return await makeRecordPdf(files, stamp, sha256);
  } catch (error) {
    if (error instanceof Problem) return `the job inside cannot be worked out again: ${error.message}`;
    throw error;
  }
}

const sameBytes = (a: Uint8Array, b: Uint8Array): boolean =>
  a.length === b.length && a.every((byte, index) => byte === b[index]);

/** @param known whether something is named already, so that a difference nobody can see needs no word of its own */
async function pageDifferences(record: OpenedRecord, again: Uint8Array, known: boolean): Promise<string[]> {
  const { pdf } = await openRecord(again, "the record made again");
  const printed = await printedPages(record.pdf);
  const following = await printedPages(pdf);
  const found = [
    ...(printed.length === following.length
      ? []
      : [`the record has ${printed.length} pages; ${following.length} follow from the logs`]),
    ...printed.flatMap((page, index) => onPage(index + 1, page, following[index])),
  ];
  if (found.length > 0 || known) return found;
  return ["the text follows from the logs, but the file was changed elsewhere (its fonts, notes or other parts)"];
}

function onPage(number: number, printed: PrintedPage, following: PrintedPage | undefined): string[] {
  if (!following || printed.drawn === following.drawn) return [];
  const strange = without(printed.pieces, following.pieces);
  const missing = without(following.pieces, printed.pieces);
  if (strange.length + missing.length === 0)
    return [`page ${number}: the drawing is not the one that follows from the logs`];
  const count = Math.max(strange.length, missing.length);
  return Array.from({ length: count }, (_, index) => {
    const [is, should] = [strange[index], missing[index]];
    if (is === undefined) return `page ${number}: '${should}' follows from the logs and is not printed`;
    return should === undefined
      ? `page ${number}: '${is}' is printed and does not follow from the logs`
      : `page ${number}: '${is}' is printed; '${should}' follows from the logs`;
  });
}

/** Entries of a list that the other has not, counted as often as they stand. */
function without(list: readonly string[], other: readonly string[]): string[] {
  const left = new Map<string, number>();
  for (const entry of other) left.set(entry, (left.get(entry) ?? 0) + 1);
  return list.filter((entry) => {
    const count = left.get(entry) ?? 0;
    left.set(entry, count - 1);
    return count <= 0;
  });
}

const shortened = (differences: readonly string[]): string[] =>
  differences.length <= mostNamed
    ? [...differences]
    : [...differences.slice(0, mostNamed), `and ${differences.length - mostNamed} more differences`];
