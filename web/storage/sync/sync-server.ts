/** The server as a device sees it: the few requests that following it takes. */

export type Put =
  | { readonly kind: "kept"; readonly revision: number }
  /** `inLine`: the very same content had already been kept as this revision: an answer was lost */
  | { readonly kind: "lost"; readonly current: Current | null; readonly inLine: number | null }
  | { readonly kind: "refused"; readonly why: string };

export interface Current {
  readonly revision: number;
  readonly deleted: boolean;
}

export interface Changes {
  readonly changes: readonly { readonly id: string; readonly revision: number; readonly deleted: boolean }[];
  readonly cursor: string;
}

/** The server wants to know who asks. */
export class SignInNeeded extends Error {}
/** Nobody answers, or the answer is no answer: tried again later. */
export class Unreachable extends Error {}

export type Fetch = (path: string, init?: RequestInit) => Promise<Response>;
export type SyncServer = ReturnType<typeof syncServer>;

export function syncServer(fetch: Fetch) {
  async function ask(path: string, init: RequestInit = {}): Promise<Response> {
    const response = await fetch(path, init).catch((error: unknown) => {
      throw new Unreachable(String(error));
    });
    if (response.status === 401) throw new SignInNeeded();
    if (response.status >= 500 || response.status === 429) throw new Unreachable(`${path}: ${response.status}`);
    return response;
  }

  return {
    /** @param base revision that is replaced; null: the job is created */
    async put(id: string, text: string, base: number | null): Promise<Put> {
      const guard: Record<string, string> = base === null ? { "if-none-match": "*" } : { "if-match": `"${base}"` };
      const headers = { "content-type": "application/json", ...guard };
      return outcome(await ask(`/api/jobs/${id}`, { method: "PUT", body: text, headers }));
    },

    async remove(id: string, base: number): Promise<Put> {
      return outcome(await ask(`/api/jobs/${id}`, { method: "DELETE", headers: { "if-match": `"${base}"` } }));
    },

    /** null: there is no such job (any more) */
    async get(id: string): Promise<{ revision: number; text: string } | null> {
      const response = await ask(`/api/jobs/${id}`);
      if (!response.ok) return null;
      return { revision: revisionOf(response), text: await response.text() };
    },

    async changes(since: string | null): Promise<Changes> {
      const response = await ask(`/api/changes${since === null ? "" : `?since=${encodeURIComponent(since)}`}`);
      if (!response.ok) throw new Unreachable(`changes: ${response.status}`);
      return (await response.json()) as Changes;
    },

    async hasLog(sha256: string): Promise<boolean> {
      return (await ask(`/api/logs/${sha256}`, { method: "HEAD" })).ok;
    },

    async putLog(sha256: string, bytes: ArrayBuffer): Promise<void> {
      const response = await ask(`/api/logs/${sha256}`, { method: "PUT", body: bytes });
      if (!response.ok) throw new Unreachable(`log ${sha256}: ${response.status}`);
    },

    async getLog(sha256: string): Promise<ArrayBuffer | null> {
      const response = await ask(`/api/logs/${sha256}`);
      return response.ok ? response.arrayBuffer() : null;
    },
  };
}

async function outcome(response: Response): Promise<Put> {
  if (response.ok) return { kind: "kept", revision: revisionOf(response) };
  const problem = (await response.json().catch(() => ({}))) as {
    detail?: string;
    current?: Current | null;
    sibling?: { revision: number; inLine: boolean } | null;
  };
  if (response.status === 404) return { kind: "lost", current: null, inLine: null };
  if (response.status === 412) {
    const { current = null, sibling } = problem;
    return { kind: "lost", current, inLine: sibling?.inLine ? sibling.revision : null };
  }
  return { kind: "refused", why: problem.detail ?? `the server answers ${response.status}` };
}

const revisionOf = (response: Response): number => Number(response.headers.get("etag")?.replaceAll('"', ""));
