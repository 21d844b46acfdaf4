/** The shape of the customer's record: sections of paragraphs, lists, tables and the picture, and the stamp it is made with. */
import type { PhotoFacts } from "./photo.ts";
import type { ProfilePicture } from "./profile-picture.ts";

export type Block =
  | { readonly kind: "paragraph"; readonly text: string }
  | { readonly kind: "list"; readonly items: readonly string[] }
  | {
      readonly kind: "table";
      readonly head: readonly string[];
      readonly rows: readonly (readonly string[])[];
      /** share of the width, by column */
      readonly shares: readonly number[];
    }
  | { readonly kind: "profile"; readonly picture: ProfilePicture; readonly caption: string }
  | { readonly kind: "photos"; readonly photos: readonly PrintedPhoto[] }
  | { readonly kind: "signatures"; readonly names: readonly PrintedSignature[] }
  | { readonly kind: "seal"; readonly text: string; readonly code: SquareCode };

export interface PrintedPhoto {
  readonly caption: string;
  /** null: there is none to print, and the caption says why */
  readonly picture: { readonly bytes: Uint8Array; readonly facts: PhotoFacts } | null;
}

export interface PrintedSignature {
  /** as in the job: x and y by turns, on a field of 600 by 200 */
  readonly strokes: readonly (readonly number[])[];
  readonly words: string;
  readonly remark: string;
}

/** A two-dimensional code: rows from the top, true where it is dark. */
export type SquareCode = readonly (readonly boolean[])[];

export interface Section {
  readonly heading: string;
  readonly blocks: readonly Block[];
}

export interface RecordDocument {
  readonly kind: string;
  readonly title: string;
  /** name and value: whose, what, when */
  readonly facts: readonly (readonly [string, string])[];
  /** page one: what a customer reads, and all that the short form holds */
  readonly front: readonly Section[];
  readonly rest: readonly Section[];
  readonly footer: string;
}

export const papers = ["a4", "letter"] as const;
export const recordUnits = ["metric", "imperial"] as const;

/** What a document is made from beside job, diagnosis and stamp. */
export interface Seen {
  /** the job folder's files by their names */
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** lower-case hex SHA-256 of the stamp as it is carried: it pins every file and every choice */
  readonly recordHash: string;
  /** the same of what a hand signs (`signedContent`) */
  readonly signedContentHash: string;
}

/** What stands on the record beside the job; kept inside the PDF, so that it can be made again. */
export interface RecordStamp {
  readonly format: "record/1";
  readonly programVersion: string;
  /** day on which the record was made, as '2026-11-25' */
  readonly madeOn: string;
  readonly paper: (typeof papers)[number];
  readonly units: (typeof recordUnits)[number];
  readonly form: "full" | "short";
  /** lower-case hex SHA-256 of each file of the job folder */
  readonly hashes: Readonly<Record<string, string>>;
  /** public key of the shop (Ed25519, base64url) where the file is signed with it */
  readonly signedWith?: string;
}
