// One way to ask the server; three things that can come of it: an answer, a refusal, silence.

import type { Fault } from './types';

/** Nobody answered: out of signal, server off, or too slow. */
export class Away extends Error {}

/** The server answered, and said no. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly faults: Fault[] = [],
  ) {
    super(message);
  }
}

const PATIENCE_MS = 20_000;

export type Ask = <T>(
  method: 'GET' | 'POST',
  path: string,
  body?: unknown,
  patience_ms?: number,
) => Promise<T>;

/** Asks with the session's cookie; `csrf` gives the word every write must carry. */
export function asker(csrf: () => string | undefined, base = 'api/'): Ask {
  return async <T>(method: string, path: string, body?: unknown, patience_ms = PATIENCE_MS): Promise<T> => {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), patience_ms);
    const headers: Record<string, string> = { Accept: 'application/json' };
    const word = csrf();
    if (body !== undefined) headers['Content-Type'] = 'application/json';
    if (method !== 'GET' && word) headers['X-Leyfold'] = word;
    const request: RequestInit = { method, headers, signal: stop.signal, credentials: 'same-origin' };
    if (body !== undefined) request.body = JSON.stringify(body);
    let reply: Response;
    let text: string;
    try {
      reply = await fetch(base + path, request);
      text = await reply.text();
    } catch {
      throw new Away();
    } finally {
      clearTimeout(timer);
    }
    // A gateway that answers for a server that is down is silence too.
    if (reply.status >= 500) throw new Away();
    let page: unknown;
    try {
      page = text ? JSON.parse(text) : null;
    } catch {
      throw new Away();
    }
    if (!reply.ok) {
      const error = (page as { error?: { code?: string; message?: string; faults?: Fault[] } } | null)?.error;
      throw new Refused(reply.status, error?.code ?? '', error?.message ?? '', error?.faults ?? []);
    }
    return page as T;
  };
}
