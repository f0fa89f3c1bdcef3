import { ChunkFetcher, type FetchedSource } from './chunk-fetcher.ts';
import type { FromWorklet } from './desk-messages.ts';
import {
  type DeskPlayer,
  type Hearing,
  type LivePlace,
  type Loop,
  type PlayerSource,
  type PlayerState,
  type PlayerWork,
  plainHearing,
} from './desk-player.ts';
import { loopMessage, placeGainMessage, placeMessage, samePlace, sourcesMessage } from './player-messages.ts';
import { deviceMayBeBack, NoSound, noDevice, openSoundDevice, type SoundDevice } from './sound-device.ts';

/** How long a context may take to begin after a click before it counts as having no device, ms. */
const resumeMilliseconds = 3000;
/** Share of one core from which on gaps are the player's own doing, and how long they are spoken of, ms. */
const heavyLoad = 0.5;
const strainMilliseconds = 8000;
const tooMuch =
  'This is more than the machine can make while it plays: there are gaps. Pass by parts of the chain, or leave the place.';
const serverLost =
  'Everyroom is not answering on this machine. What is at hand goes on playing; the rest follows when it answers.';

/** Opens the desk's player on the usual sound device. What goes wrong is in its state, never thrown. */
export function openDeskPlayer(): DeskPlayer {
  return new Player();
}

class Player implements DeskPlayer {
  readonly #listeners = new Set<() => void>();
  readonly #closing = new AbortController();
  #device: SoundDevice | null = null;
  #fetcher: ChunkFetcher | null = null;
  #opened: Promise<void>;
  #report: FromWorklet | null = null;
  #deviceTrouble: string | null = null;
  #sources = new Map<string, PlayerSource & FetchedSource>();
  #lengthSeconds = 0;
  #chosen: string | null = null;
  #playing = false;
  #noise = false;
  #hearing: Hearing = plainHearing;
  #place: LivePlace | null = null;
  #loop: Loop | null = null;
  /** Where it stood last, s; and a jump that the worklet has not heeded yet. */
  #seconds = 0;
  #jump: { readonly seconds: number; readonly heeded: number } | null = null;
  /** Messages sent when playing or the place was last asked for. */
  #playSent = 0;
  #strainedUntil = 0;
  #exposureTaken = { weighted: 0, frames: 0 };
  #state: PlayerState = {
    state: 'locked',
    positionSeconds: 0,
    chosen: null,
    loop: null,
    ready: new Set(),
    sampleRate: 48_000,
    trouble: null,
  };

  constructor() {
    this.#opened = this.#open();
  }

  get state(): PlayerState {
    return this.#state;
  }

  subscribe(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  position(): number {
    const [device, report] = [this.#device, this.#report];
    if (this.#jump) return this.#jump.seconds;
    if (!device || !report?.heard) return this.#seconds;
    const { context } = device;
    const rate = context.sampleRate;
    const elapsed = Math.min(1, Math.max(0, context.currentTime - report.frame / rate));
    let seconds = report.position / rate + elapsed - (context.outputLatency || context.baseLatency || 0);
    const loop = this.#loop;
    if (loop && report.position / rate <= loop.endSeconds && seconds >= loop.endSeconds)
      seconds -= loop.endSeconds - loop.startSeconds;
    return Math.min(this.#lengthSeconds, Math.max(0, seconds));
  }

  setSources(sources: readonly PlayerSource[], lengthSeconds: number): void {
    const keyed = sources.map((source) => ({
      ...source,
      key: `${source.versionId} ${source.baseVersionId}`,
    }));
    this.#sources = new Map(keyed.map((source) => [source.id, source]));
    this.#lengthSeconds = lengthSeconds;
    if (this.#chosen === null || !this.#sources.has(this.#chosen)) this.#chosen = keyed[0]?.id ?? null;
    this.#sendSources();
    this.#sendChoice();
    this.#update();
  }

  choose(id: string): void {
    const source = this.#sources.get(id);
    if (!source) return;
    this.#chosen = id;
    this.#fetcher?.retry(source.key);
    this.#sendChoice();
    this.#update();
  }

  async play(): Promise<void> {
    this.#playing = true;
    this.#noise = false;
    if (this.position() >= this.#lengthSeconds - 1e-3) this.seek(this.#loop?.startSeconds ?? 0);
    await this.#opened;
    if (!this.#device) {
      this.#update();
      return;
    }
    await this.#letRun(this.#device);
    this.#device?.send({ noise: false });
    this.#sendPlay();
    for (const { key } of this.#sources.values()) this.#fetcher?.retry(key);
    this.#update();
  }

  pause(): void {
    this.#playing = false;
    this.#sendPlay();
    this.#update();
  }

  seek(seconds: number): void {
    const within = Math.min(this.#lengthSeconds, Math.max(0, seconds));
    this.#seconds = within;
    if (this.#device) {
      this.#device.send({ seek: Math.round(within * this.#device.context.sampleRate) });
      this.#jump = { seconds: within, heeded: this.#device.sent };
      this.#playSent = this.#device.sent;
    }
    this.#update();
  }

  setLoop(loop: Loop | null): void {
    this.#loop = loop;
    this.#sendLoop();
    this.#update();
  }

  setHearing(hearing: Hearing): void {
    this.#hearing = hearing;
    this.#sendHearing();
  }

  setPlace(place: LivePlace | null): void {
    const before = this.#place;
    this.#place = place;
    if (place && before && samePlace(place, before)) this.#device?.send(placeGainMessage(place));
    else if (place !== before) this.#sendPlace();
  }

  work(): PlayerWork {
    const { load = null, underruns = 0, chainFrames = 0 } = this.#report ?? {};
    const rate = this.#device?.context.sampleRate ?? 48_000;
    return { load, underruns, chainLatencySeconds: chainFrames / rate };
  }

  setNoise(on: boolean): void {
    this.#noise = on;
    if (on) this.pause();
    const device = this.#device;
    if (device && on) void this.#letRun(device);
    device?.send({ noise: on });
  }

  takeExposure(): { readonly seconds: number; readonly levelDbfsA: number | null } {
    const now = this.#report?.exposure ?? { weighted: 0, frames: 0 };
    const frames = now.frames - this.#exposureTaken.frames;
    const weighted = now.weighted - this.#exposureTaken.weighted;
    this.#exposureTaken = now;
    const rate = this.#device?.context.sampleRate ?? 48_000;
    return {
      seconds: frames / rate,
      levelDbfsA: frames > 0 && weighted > 0 ? 10 * Math.log10(weighted / (2 * frames)) : null,
    };
  }

  async close(): Promise<void> {
    this.#closing.abort();
    this.#fetcher?.close();
    await this.#opened;
    await this.#device?.close();
    this.#device = null;
    this.#listeners.clear();
  }

  /** Opens a device and tells it everything; tries again until there is one. */
  async #open(): Promise<void> {
    try {
      const device = await openSoundDevice({
        report: (report) => this.#take(report),
        stateChanged: () => this.#update(),
        lost: (sentence) => void this.#lose(sentence),
      });
      if (this.#closing.signal.aborted) return await device.close();
      this.#device = device;
      this.#deviceTrouble = null;
      this.#fetcher = new ChunkFetcher(
        device.context.sampleRate,
        ({ key: sound, chunk, samples, timelineFrames }) => {
          device.send({ sound, timelineFrames });
          device.send({ sound, chunk, samples }, [samples.buffer]);
        },
        () => this.#update(),
      );
      this.#sendAll();
      this.#update();
    } catch (error) {
      this.#deviceTrouble = error instanceof NoSound ? error.message : noDevice;
      this.#update();
      void this.#openLater();
    }
  }

  async #openLater(): Promise<void> {
    await deviceMayBeBack(this.#closing.signal);
    if (this.#closing.signal.aborted || this.#device) return;
    this.#opened = this.#open();
    await this.#opened;
    // Gone on with by itself, as it would have without the interruption; a browser may still want a click first.
    if (this.#device && this.#playing) await this.#letRun(this.#device);
  }

  /** The device is gone: the position stays, and another is opened as soon as there is one. */
  async #lose(sentence: string): Promise<void> {
    const device = this.#device;
    if (!device || this.#closing.signal.aborted) return;
    this.#seconds = this.position();
    this.#device = null;
    this.#report = null;
    this.#jump = null;
    this.#exposureTaken = { weighted: 0, frames: 0 };
    this.#fetcher?.close();
    this.#fetcher = null;
    this.#deviceTrouble = sentence;
    this.#update();
    await device.close();
    await this.#openLater();
  }

  /** Lets a context run that waits for a click; says so when it cannot. */
  async #letRun({ context }: SoundDevice): Promise<void> {
    if (context.state === 'running') return;
    const late = new Promise<void>((resolve) => setTimeout(resolve, resumeMilliseconds));
    await Promise.race([context.resume().catch(() => {}), late]);
    this.#deviceTrouble = (context.state as AudioContextState) === 'running' ? null : noDevice;
    this.#update();
  }

  #take(report: FromWorklet): void {
    const device = this.#device;
    if (!device) return;
    // Its own work, not that of others, has to be what the machine is short of.
    const missed = report.underruns > (this.#report?.underruns ?? 0);
    if (missed && (report.load ?? 0) > heavyLoad)
      this.#strainedUntil = performance.now() + strainMilliseconds;
    this.#report = report;
    if (this.#jump && report.heeded >= this.#jump.heeded) this.#jump = null;
    if (!this.#jump) this.#seconds = report.position / device.context.sampleRate;
    // Whether it reached the end of the song only the worklet knows; a wish that was not heeded yet is no end.
    if (this.#playing && !report.playing && report.heeded >= this.#playSent) this.#playing = false;
    const byKey = new Map([...this.#sources.values()].map((source) => [source.key, source]));
    this.#fetcher?.want(
      report.wanted.flatMap(({ key, chunk }) => {
        const source = byKey.get(key);
        return source ? [{ source, chunk }] : [];
      }),
    );
    this.#update();
  }

  #sendAll(): void {
    const device = this.#device;
    if (!device) return;
    this.#sendSources();
    this.#sendHearing();
    this.#sendPlace();
    this.#sendLoop();
    this.#sendChoice();
    this.seek(this.#seconds);
    device.send({ noise: this.#noise });
    this.#sendPlay();
  }

  #sendSources(): void {
    const device = this.#device;
    if (!device) return;
    device.send(sourcesMessage(this.#sources.values(), this.#lengthSeconds, device.context.sampleRate));
  }

  #sendChoice(): void {
    this.#device?.send({ choose: this.#chosen });
  }

  #sendPlay(): void {
    this.#device?.send({ play: this.#playing });
    this.#playSent = this.#device?.sent ?? 0;
  }

  #sendHearing(): void {
    this.#device?.send({ hearing: this.#hearing });
  }

  #sendPlace(): void {
    const device = this.#device;
    device?.send(placeMessage(this.#place, device.context.sampleRate));
  }

  #sendLoop(): void {
    const device = this.#device;
    device?.send(loopMessage(this.#loop, device.context.sampleRate));
  }

  #keyOf(id: string | null): string | null {
    return (id !== null && this.#sources.get(id)?.key) || null;
  }

  /** Makes the state anew and tells, when it reads differently. */
  #update(): void {
    const next = this.#nextState();
    const same = (Object.keys(next) as (keyof PlayerState)[]).every(
      (name) => name === 'positionSeconds' || next[name] === this.#state[name],
    );
    if (same && this.#state.positionSeconds === next.positionSeconds) return;
    const tell = !same || next.state !== 'playing';
    this.#state = next;
    if (tell) for (const listener of this.#listeners) listener();
  }

  #nextState(): PlayerState {
    const ready = new Set(this.#report?.ready ?? []);
    return {
      state: this.#stateName(),
      positionSeconds: this.position(),
      chosen: this.#chosen,
      loop: this.#loop,
      ready: sameSet(ready, this.#state.ready) ? this.#state.ready : ready,
      sampleRate: this.#device?.context.sampleRate ?? this.#state.sampleRate,
      trouble: this.#trouble(),
    };
  }

  #stateName(): PlayerState['state'] {
    if (this.#deviceTrouble) return 'failed';
    if (this.#device?.context.state !== 'running') return 'locked';
    if (!this.#playing) return 'stopped';
    if (!this.#report || this.#report.waiting || !this.#report.heard)
      return this.#failureOf(this.#chosen) ? 'failed' : 'loading';
    return 'playing';
  }

  #trouble(): string | null {
    if (this.#deviceTrouble) return this.#deviceTrouble;
    if (this.#fetcher?.lost) return serverLost;
    if (this.#strained) return tooMuch;
    const chosen = this.#failureOf(this.#chosen);
    if (chosen) return chosen;
    for (const id of this.#sources.keys()) {
      const failure = this.#failureOf(id);
      if (failure) return failure;
    }
    return null;
  }

  get #strained(): boolean {
    return this.#playing && performance.now() < this.#strainedUntil;
  }

  #failureOf(id: string | null): string | null {
    const key = this.#keyOf(id);
    return (key !== null && this.#fetcher?.failureOf(key)?.message) || null;
  }
}

function sameSet(a: ReadonlySet<string>, b: ReadonlySet<string>): boolean {
  return a.size === b.size && [...a].every((value) => b.has(value));
}
