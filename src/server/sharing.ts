import { isIPv4 } from 'node:net';
import { networkInterfaces } from 'node:os';
import Fastify from 'fastify';
import { serializerCompiler, validatorCompiler, type ZodTypeProvider } from 'fastify-type-provider-zod';
import { CodedError } from '../audio/coded-error.ts';
import { systemCode } from '../bench/storage-error.ts';
import type { App } from './app-type.ts';
import { type GuardException, guard } from './guard.ts';
import { voterHeaders } from './headers.ts';
import { sendVisitorError } from './visitors.ts';

export interface SharingOptions {
  /** The addresses to listen on; those of the local network by default. Asked when sharing begins. */
  readonly addresses?: () => readonly string[];
  /** The port wished for; by default a fixed one for each kind of thing, so that links go on working after a restart. */
  readonly port?: number;
}

/** What is shared: things of one kind, one at a time. */
export interface Shareable {
  /** CodedError when this one may not be shared now. */
  admit(id: string): Promise<unknown>;
  /** Adds the routes of one of them; there are no others. @param reach as Sharing.reach */
  serve(scope: App, id: string, reach: () => readonly string[]): Promise<void>;
  /** Told of one whose sharing begins or ends. */
  told(id: string): void;
  readonly usualPort: number;
  readonly bodyLimitBytes: number;
  /** Requests that may also come from a page that was opened from disk; none when left out. */
  readonly fromDisk?: GuardException;
}

export interface SharingState {
  readonly on: boolean;
  readonly id: string | null;
  readonly addresses: readonly string[];
  readonly expiresAt: string | null;
}

const portsTried = 50;
/** After the reveal, whoever is in the middle of a round is still told why it ends. */
const farewellMilliseconds = 60_000;
const off: SharingState = { on: false, id: null, addresses: [], expiresAt: null };

/**
 * Sharing of one thing in the local network: a server of its own for each address, with the routes of that thing and nothing
 * else. Off until the host switches it on, and after every start; ends by itself at its time.
 */
export class Sharing {
  readonly #what: Shareable;
  readonly #report: (error: unknown) => void;
  readonly #options: SharingOptions;
  #state = off;
  #servers: App[] = [];
  #timer: NodeJS.Timeout | undefined;
  /** One change at a time. */
  #turn: Promise<unknown> = Promise.resolve();

  constructor(what: Shareable, report: (error: unknown) => void, options: SharingOptions = {}) {
    this.#what = what;
    this.#report = report;
    this.#options = options;
  }

  get state(): SharingState {
    return this.#state;
  }

  /** Where the bench is reached, or would be if sharing were switched on now. */
  reach(): readonly string[] {
    if (this.#state.on) return this.#state.addresses;
    const port = this.#options.port ?? this.#what.usualPort;
    return this.#addresses().map((address) => `http://${inUrl(address)}:${port}`);
  }

  /** Switches it on for one thing, off for any other. CodedError SHARING_IMPOSSIBLE, and what admitting gives. */
  on(id: string, hours: number): Promise<SharingState> {
    return this.#inTurn(async () => {
      await this.#what.admit(id);
      await this.#close();
      const addresses = this.#addresses();
      if (addresses.length === 0)
        throw new CodedError(
          'SHARING_IMPOSSIBLE',
          'This machine has no address in a local network. Join one, or carry along what can be made as files.',
        );
      const port = await this.#listen(id, addresses);
      const milliseconds = hours * 3600_000;
      this.#state = {
        on: true,
        id,
        addresses: addresses.map((address) => `http://${inUrl(address)}:${port}`),
        expiresAt: new Date(Date.now() + milliseconds).toISOString(),
      };
      this.#timer = setTimeout(() => void this.off(), milliseconds).unref();
      this.#what.told(id);
      return this.#state;
    });
  }

  /** Switches it off: for one thing, or whatever is shared. */
  off(id?: string): Promise<SharingState> {
    return this.#inTurn(async () => {
      if (id === undefined || id === this.#state.id) await this.#close();
      return this.#state;
    });
  }

  /** Lets it end a minute from now, when it is this one that is shared. */
  endSoon(id: string): void {
    if (this.#state.id !== id) return;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.off(id), farewellMilliseconds).unref();
  }

  #addresses(): readonly string[] {
    return this.#options.addresses?.() ?? localAddresses();
  }

  async #close(): Promise<void> {
    clearTimeout(this.#timer);
    const { id } = this.#state;
    const servers = this.#servers;
    this.#servers = [];
    this.#state = off;
    await Promise.all(servers.map((server) => server.close()));
    if (id !== null) this.#what.told(id);
  }

  async #listen(id: string, addresses: readonly string[]): Promise<number> {
    const wished = this.#options.port ?? this.#what.usualPort;
    for (let port = wished; ; port++) {
      const servers: App[] = [];
      try {
        // With port 0 the first address finds one for all.
        let taken = port;
        for (const address of addresses) {
          const server = await this.#server(id, address, () => taken);
          servers.push(server);
          await server.listen({ port: taken, host: address });
          const bound = server.server.address();
          if (bound !== null && typeof bound === 'object') taken = bound.port;
        }
        this.#servers = servers;
        return taken;
      } catch (error) {
        await Promise.all(servers.map((server) => server.close()));
        if (systemCode(error) === 'EADDRINUSE' && port < wished + portsTried) continue;
        throw new CodedError(
          'SHARING_IMPOSSIBLE',
          'The network of this machine did not let it be shared. Check that it is connected, then try again.',
          { cause: error },
        );
      }
    }
  }

  async #server(id: string, address: string, port: () => number): Promise<App> {
    const server: App = Fastify({
      bodyLimit: this.#what.bodyLimitBytes,
      exposeHeadRoutes: false,
      forceCloseConnections: true,
      // Of sending a request, not of hearing its answer: a phone far from the router may take its time with a sound.
      requestTimeout: 20_000,
      connectionTimeout: 120_000,
      keepAliveTimeout: 30_000,
      frameworkErrors: (error, _request, reply) => void sendVisitorError(reply, error, this.#report),
    }).withTypeProvider<ZodTypeProvider>();
    server.server.maxConnections = 500;
    server.setValidatorCompiler(validatorCompiler);
    server.setSerializerCompiler(serializerCompiler);
    voterHeaders(server);
    guard(server, [inUrl(address)], port, this.#what.fromDisk);
    server.setErrorHandler((error: Error, _request, reply) => sendVisitorError(reply, error, this.#report));
    server.setNotFoundHandler((_request, reply) =>
      sendVisitorError(reply, new CodedError('NOT_FOUND', 'There is nothing under this address.'), () => {}),
    );
    await server.register((scope: App) => this.#what.serve(scope, id, () => this.reach()));
    return server;
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const result = this.#turn.then(work);
    this.#turn = result.catch(() => {});
    return result;
  }
}

/** This machine's addresses in local networks: private ones (RFC 1918, RFC 3927, RFC 4193) only, never one of the internet. */
function localAddresses(): string[] {
  return Object.values(networkInterfaces())
    .flatMap((all) => all ?? [])
    .filter(({ internal, address }) => !internal && isPrivate(address))
    .map(({ address }) => address)
    .sort((a, b) => Number(isIPv4(b)) - Number(isIPv4(a)));
}

/** Whether an address is of a local network. */
export function isPrivate(address: string): boolean {
  if (!isIPv4(address)) return /^f[cd]/i.test(address);
  const [a, b] = address.split('.').map(Number);
  return a === 10 || (a === 172 && b >= 16 && b < 32) || (a === 192 && b === 168) || (a === 169 && b === 254);
}

function inUrl(address: string): string {
  return isIPv4(address) ? address : `[${address}]`;
}
