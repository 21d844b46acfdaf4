/** The tables as the queries see them. Times are milliseconds since 1970; yes and no are 1 and 0, which both databases read alike. */
export interface Tables {
  store_facts: { fact: string; value: string };
  shops: { id: string; name: string; last_revision: number };
  jobs: JobRow;
  revisions: RevisionRow;
  logs: { shop: string; sha256: string; bytes: number; kept_ms: number };
  diagnoses: { key: string; document: string; made_ms: number };
  accounts: { id: string; shop: string; name: string; password: string; made_ms: number };
  sessions: {
    token_hash: string;
    shop: string;
    account: string | null;
    label: string;
    made_ms: number;
    ends_ms: number;
  };
  pairings: { code_hash: string; shop: string; account: string | null; ends_ms: number };
  sign_in_failures: { who: string; failures: number; blocked_until_ms: number };
}

/** A job as it stands: its newest revision, which is a deletion where `deleted` is 1. */
export interface JobRow {
  shop: string;
  id: string;
  revision: number;
  deleted: number;
  title: string;
  updated_ms: number;
  /** the words that a search can find it by; see search-words.ts */
  words: string;
}

/** Every document that was ever sent for a job: in its line of revisions, or a sibling that lost the race to be in it. */
export interface RevisionRow {
  shop: string;
  job: string;
  revision: number;
  /** the revision it was made from, where its sender said so */
  base: number | null;
  sibling: number;
  /** null: the job was deleted */
  document: string | null;
  sha256: string | null;
  written_ms: number;
  account: string | null;
}
