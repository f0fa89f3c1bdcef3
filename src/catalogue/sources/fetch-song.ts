import { type LookupAddress, lookup } from 'node:dns';
import { createWriteStream } from 'node:fs';
import { type IncomingMessage, request as plainRequest, type RequestOptions } from 'node:http';
import { request as secureRequest } from 'node:https';
import { isIP, type LookupFunction } from 'node:net';
import { Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { isPrivateAddress } from './private-address.ts';
import { sourceName } from './source-text.ts';

export interface FetchOptions {
  /** Whether addresses outside the open net (this machine, the local network) may be asked. */
  readonly allowPrivate: boolean;
  readonly maxBytes: number;
  /** Without a byte for so long, the server counts as stuck, ms. */
  readonly idleMs: number;
  /** The whole song must be here by then, ms. */
  readonly totalMs: number;
  readonly signal?: AbortSignal;
  /** What counts as outside the open net; isPrivateAddress by default. */
  readonly isPrivate?: (address: string) => boolean;
}

const mostRedirects = 5;

/**
 * Fetches a song from an http(s) address into a file. Every address on the way, after each redirect and as the name is resolved for the
 * very connection, must be one of the open net unless private ones are allowed. CodedError: URL_REFUSED, URL_FAILED, URL_TOO_SLOW,
 * FILE_TOO_LARGE, DISK_FULL; `signal.reason` when cancelled.
 */
export async function fetchSong(address: string, path: string, options: FetchOptions): Promise<void> {
  const name = sourceName(address);
  const late = AbortSignal.timeout(options.totalMs);
  const signal = options.signal ? AbortSignal.any([options.signal, late]) : late;
  try {
    const answer = await follow(address, name, { ...options, signal });
    const promised = Number(answer.headers['content-length'] ?? 0);
    if (promised > options.maxBytes) {
      answer.destroy();
      throw tooLarge(name, options.maxBytes);
    }
    await pipeline(answer, capped(name, options.maxBytes), createWriteStream(path), { signal });
    if (!answer.complete) throw failed(name, 'the connection ended before the song did');
  } catch (error) {
    options.signal?.throwIfAborted();
    if (late.aborted)
      throw tooSlow(name, `it took longer than ${Math.round(options.totalMs / 1000)} seconds`);
    throw explained(error, name, path);
  }
}

async function follow(
  address: string,
  name: string,
  options: FetchOptions & { signal: AbortSignal },
): Promise<IncomingMessage> {
  let at = urlOf(address, name);
  for (let hops = 0; ; hops++) {
    refuse(at, name, options);
    const answer = await ask(at, name, options);
    const { statusCode = 0, headers } = answer;
    if (statusCode === 200) return answer;
    answer.destroy();
    if (statusCode < 300 || statusCode > 399 || headers.location === undefined)
      throw failed(name, `the server answered with status ${statusCode}`);
    if (hops === mostRedirects) throw failed(name, `it is sent on more than ${mostRedirects} times`);
    at = urlOf(headers.location, name, at);
  }
}

function urlOf(text: string, name: string, base?: URL): URL {
  let url: URL;
  try {
    url = new URL(text, base);
  } catch {
    throw refused(name, 'its address cannot be understood');
  }
  if (url.protocol !== 'http:' && url.protocol !== 'https:')
    throw refused(name, 'its address is neither http nor https');
  // It would be kept in the list and shown.
  if (url.username || url.password)
    throw refused(name, 'its address has a password in it, which lists would show');
  return url;
}

/** Addresses in figures never go through the look-up that guards the names. */
function refuse(
  { hostname }: URL,
  name: string,
  { allowPrivate, isPrivate = isPrivateAddress }: FetchOptions,
): void {
  const literal = hostname.replace(/^\[|\]$/g, '');
  if (!allowPrivate && isIP(literal) && isPrivate(literal)) throw privately(name);
}

function ask(
  url: URL,
  name: string,
  { allowPrivate, isPrivate = isPrivateAddress, idleMs, signal }: FetchOptions,
): Promise<IncomingMessage> {
  const options: RequestOptions = {
    signal,
    agent: false,
    // What is compressed on the way could unpack to any size.
    headers: { 'accept-encoding': 'identity', 'user-agent': 'everyroom' },
    lookup: allowPrivate ? undefined : guardedLookup(name, isPrivate),
  };
  const stuck = () => tooSlow(name, `nothing came for ${Math.round(idleMs / 1000)} seconds`);
  return new Promise((resolve, reject) => {
    const send = url.protocol === 'https:' ? secureRequest : plainRequest;
    const asked = send(url, options, (answer) => {
      // From here on it is the answer that may get stuck, and whose reader must be told.
      asked.removeAllListeners('timeout');
      answer.setTimeout(idleMs, () => answer.destroy(stuck()));
      resolve(answer);
    });
    asked.setTimeout(idleMs, () => asked.destroy(stuck()));
    asked.on('error', reject);
    asked.end();
  });
}

/** The connection is made to the very address that was looked at: a name cannot answer differently in between. */
function guardedLookup(name: string, isPrivate: (address: string) => boolean): LookupFunction {
  return (hostname, options, done) => {
    lookup(hostname, { ...options, all: true }, (error, found: LookupAddress[]) => {
      if (error) return done(error, '', 4);
      if (found.some(({ address }) => isPrivate(address))) return done(privately(name), '', 4);
      if (options.all) return (done as (e: null, all: LookupAddress[]) => void)(null, found);
      done(null, found[0].address, found[0].family);
    });
  };
}

function capped(name: string, maxBytes: number): Transform {
  let bytes = 0;
  return new Transform({
    transform(chunk: Buffer, _encoding, done) {
      bytes += chunk.length;
      done(bytes > maxBytes ? tooLarge(name, maxBytes) : null, chunk);
    },
  });
}

function explained(error: unknown, name: string, path: string): unknown {
  if (error instanceof CodedError) return error;
  const code = (error as NodeJS.ErrnoException).code ?? '';
  if (code === 'ENOSPC' || code === 'EDQUOT') return fileError(error, path, 'write');
  return failed(name, code || (error as Error).message, error);
}

const failed = (name: string, why: string, cause?: unknown): CodedError =>
  new CodedError('URL_FAILED', `“${name}” could not be fetched: ${why}.`, { cause });
const tooSlow = (name: string, why: string): CodedError =>
  new CodedError('URL_TOO_SLOW', `“${name}” was given up: ${why}.`);
const refused = (name: string, why: string): CodedError =>
  new CodedError('URL_REFUSED', `“${name}” was not fetched: ${why}.`);
const privately = (name: string): CodedError =>
  refused(
    name,
    'its address, or one it leads to, is on this machine or a local network, which only --allow-private allows',
  );
const tooLarge = (name: string, maxBytes: number): CodedError =>
  new CodedError('FILE_TOO_LARGE', `“${name}” is larger than the ${maxBytes} bytes that are taken.`);
