import type { Job, Song, Version } from '../../src/server/api.ts';
import { ApiFailure, failureFrom, unreachable } from '../api/client.ts';

/** The server's answer to a file: where it now lies. */
export interface Received {
  readonly song: Song;
  readonly version: Version;
  readonly job: Job | null;
}

/** Where a file goes: to a song (a new one when not said), or as a reference into a set. */
export interface Destination {
  readonly songId?: string;
  readonly setId?: string;
}

/** Sends one file to where it is to go; as `sendBytes`. */
export function sendFile(
  file: File,
  { songId, setId }: Destination,
  onSent: (bytes: number) => void,
  signal: AbortSignal,
): Promise<Received> {
  const query = new URLSearchParams({
    name: file.name,
    ...(songId ? { songId } : {}),
    ...(setId ? { kind: 'reference' } : {}),
  });
  return sendBytes(`/versions?${query}`, file, onSent, signal);
}

/**
 * Sends one file's bytes as they are. XMLHttpRequest, because fetch tells nothing of how much has gone out.
 * Rejects with ApiFailure; with code JOB_CANCELLED when `signal` is aborted.
 */
export function sendBytes<T>(
  path: string,
  file: File,
  onSent: (bytes: number) => void,
  signal: AbortSignal,
): Promise<T> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open('POST', `/api${path}`);
    request.setRequestHeader('content-type', 'application/octet-stream');
    request.responseType = 'json';
    request.upload.addEventListener('progress', (event) => onSent(event.loaded));
    request.addEventListener('load', () => {
      if (request.status >= 200 && request.status < 300) resolve(request.response as T);
      else reject(failureFrom(request.status, request.response));
    });
    request.addEventListener('error', () => reject(unreachable()));
    request.addEventListener('abort', () =>
      reject(new ApiFailure('JOB_CANCELLED', `${file.name} was not sent to the end.`, 0)),
    );
    signal.addEventListener('abort', () => request.abort(), { once: true });
    request.send(file);
  });
}
