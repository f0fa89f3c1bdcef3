import type { ApiError } from '../../src/server/api.ts';

/** What went wrong with a request: the server's own sentence and code, or that it could not be reached. */
export class ApiFailure extends Error {
  override readonly name = 'ApiFailure';
  readonly code: string;
  readonly status: number;

  constructor(code: string, message: string, status: number) {
    super(message);
    this.code = code;
    this.status = status;
  }

  get unreachable(): boolean {
    return this.status === 0;
  }
}

/** The failure for a request that got no answer at all. */
export function unreachable(): ApiFailure {
  return new ApiFailure('UNREACHABLE', 'Everyroom is not answering on this machine.', 0);
}

/** Reads a failed answer's sentence; an answer that is not ours gets a plain one. */
export function failureFrom(status: number, body: unknown): ApiFailure {
  const error = (body as Partial<ApiError> | null)?.error;
  if (typeof error?.code === 'string' && typeof error.message === 'string')
    return new ApiFailure(error.code, error.message, status);
  return new ApiFailure('INTERNAL', `The server answered with status ${status} and no reason.`, status);
}

/** One request to the server; resolves to the answer's JSON (undefined for 204), rejects with ApiFailure. */
export async function call<T>(
  method: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE',
  path: string,
  body?: unknown,
  /** Gives the request up; the server stops working for it. */
  signal?: AbortSignal,
): Promise<T> {
  let response: Response;
  try {
    response = await fetch(`/api${path}`, {
      method,
      headers: body === undefined ? {} : { 'content-type': 'application/json' },
      body: body === undefined ? undefined : JSON.stringify(body),
      signal: signal ?? null,
    });
  } catch {
    throw unreachable();
  }
  if (response.status === 204) return undefined as T;
  const json: unknown = await response.json().catch(() => null);
  if (!response.ok) throw failureFrom(response.status, json);
  return json as T;
}
