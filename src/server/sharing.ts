import { isIPv4 } from 'node:net';
import { networkInterfaces } from 'node:os';
import Fastify from 'fastify';
import { serializerCompiler, validatorCompiler, type ZodTypeProvider } from 'fastify-type-provider-zod';
import { CodedError } from '../audio/coded-error.ts';
import type { Bench } from '../bench/bench.ts';
import { systemCode } from '../bench/storage-error.ts';
import type { App } from './app-type.ts';
import { guard } from './guard.ts';
import { voterHeaders } from './headers.ts';
import { sendVoterError, voterRoutes } from './routes/voter.ts';

export interface SharingOptions {
  /** The addresses to listen on; those of the local network by default. Asked when sharing begins. */
  readonly addresses?: () => readonly string[];
  /** The port wished for; 4871 by default, so that links go on working after a restart. */
  readonly port?: number;
}

export interface SharingState {
  readonly on: boolean;
  readonly shootoutId: string | null;
  readonly addresses: readonly string[];
  readonly expiresAt: string | null;
}

const usualPort = 4871;
const portsTried = 50;
/** After the reveal, whoever is in the middle of a round is still told why it ends. */
const farewellMilliseconds = 60_000;
const off: SharingState = { on: false, shootoutId: null, addresses: [], expiresAt: null };

/**
 * Sharing of one shoot-out in the local network: a server of its own for each address, with the voter routes and nothing
 * else. Off until the host switches it on, and after every start; ends by itself at its time and after the reveal.
 */
export class Sharing {
  readonly #bench: Bench;
  readonly #report: (error: unknown) => void;
  readonly #options: SharingOptions;
  #state = off;
  #servers: App[] = [];
  #timer: NodeJS.Timeout | undefined;
  /** One change at a time. */
  #turn: Promise<unknown> = Promise.resolve();

  constructor(bench: Bench, report: (error: unknown) => void, options: SharingOptions = {}) {
    this.#bench = bench;
    this.#report = report;
    this.#options = options;
  }

  get state(): SharingState {
    return this.#state;
  }

  /** Switches it on for a shoot-out, off for any other. CodedError SHOOTOUT_STATE, SHARING_IMPOSSIBLE. */
  on(shootoutId: string, hours: number): Promise<SharingState> {
    return this.#inTurn(async () => {
      const { state } = await this.#bench.shootouts.host.store.get(shootoutId);
      if (state !== 'open')
        throw new CodedError('SHOOTOUT_STATE', 'A shoot-out is shared while it is open for votes.');
      await this.#close();
      const addresses = this.#options.addresses?.() ?? localAddresses();
      if (addresses.length === 0)
        throw new CodedError(
          'SHARING_IMPOSSIBLE',
          'This machine has no address in a local network. Join one, or make a folder for each listener.',
        );
      const port = await this.#listen(shootoutId, addresses);
      const milliseconds = hours * 3600_000;
      this.#state = {
        on: true,
        shootoutId,
        addresses: addresses.map((address) => `http://${inUrl(address)}:${port}`),
        expiresAt: new Date(Date.now() + milliseconds).toISOString(),
      };
      this.#timer = setTimeout(() => void this.off(), milliseconds).unref();
      this.#bench.events.emit('shootout', shootoutId);
      return this.#state;
    });
  }

  /** Switches it off: for one shoot-out, or whatever is shared. */
  off(shootoutId?: string): Promise<SharingState> {
    return this.#inTurn(async () => {
      if (shootoutId === undefined || shootoutId === this.#state.shootoutId) await this.#close();
      return this.#state;
    });
  }

  /** Lets it end a minute from now, when it is this one that is shared. */
  endSoon(shootoutId: string): void {
    if (this.#state.shootoutId !== shootoutId) return;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.off(shootoutId), farewellMilliseconds).unref();
  }

  async #close(): Promise<void> {
    clearTimeout(this.#timer);
    const { shootoutId } = this.#state;
    const servers = this.#servers;
    this.#servers = [];
    this.#state = off;
    await Promise.all(servers.map((server) => server.close()));
    if (shootoutId !== null) this.#bench.events.emit('shootout', shootoutId);
  }

  async #listen(shootoutId: string, addresses: readonly string[]): Promise<number> {
    const wished = this.#options.port ?? usualPort;
    for (let port = wished; ; port++) {
      const servers: App[] = [];
      try {
        // With port 0 the first address finds one for all.
        let taken = port;
        for (const address of addresses) {
          const server = await this.#server(shootoutId, address, () => taken);
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
          'The network of this machine did not let the shoot-out be shared. Check that it is connected, then try again.',
          { cause: error },
        );
      }
    }
  }

  async #server(shootoutId: string, address: string, port: () => number): Promise<App> {
    const server: App = Fastify({
      bodyLimit: 4096,
      exposeHeadRoutes: false,
      forceCloseConnections: true,
      // Of sending a request, not of hearing its answer: a phone far from the router may take its time with a sound.
      requestTimeout: 20_000,
      connectionTimeout: 120_000,
      keepAliveTimeout: 30_000,
      frameworkErrors: (error, _request, reply) => void sendVoterError(reply, error, this.#report),
    }).withTypeProvider<ZodTypeProvider>();
    server.server.maxConnections = 500;
    server.setValidatorCompiler(validatorCompiler);
    server.setSerializerCompiler(serializerCompiler);
    voterHeaders(server);
    guard(server, [inUrl(address)], port);
    server.setErrorHandler((error: Error, _request, reply) => sendVoterError(reply, error, this.#report));
    server.setNotFoundHandler((_request, reply) =>
      sendVoterError(reply, new CodedError('NOT_FOUND', 'There is nothing under this address.'), () => {}),
    );
    await server.register((scope: App) =>
      voterRoutes(scope, this.#bench, () => ({ where: 'network', shootoutId }), this.#report),
    );
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
