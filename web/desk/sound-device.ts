import { deskProcessor, type FromWorklet, type ToWorklet } from './desk-messages.ts';
import workletUrl from './desk-worklet.ts?worker&url';

/** Sound that comes out: a context with the desk's worklet in it. */
export interface SoundDevice {
  readonly context: AudioContext;
  send(message: ToWorklet, transfer?: Transferable[]): void;
  /** Messages sent so far. */
  readonly sent: number;
  close(): Promise<void>;
}

/** What a device tells of itself. */
export interface DeviceEvents {
  report(report: FromWorklet): void;
  /** The context was let run, or stopped. */
  stateChanged(): void;
  /** No sound comes out of it any more; `sentence` says so. */
  lost(sentence: string): void;
}

/** A sentence for a person, and nothing behind it. */
export class NoSound extends Error {
  override readonly name = 'NoSound';
}

/** How often it is looked whether sound still flows, ms; lost after two looks in a row without any. */
const lookEvery = 1500;

/** Opens the usual device. Rejects with NoSound. */
export async function openSoundDevice(events: DeviceEvents): Promise<SoundDevice> {
  const context = newContext();
  try {
    if (!context.audioWorklet)
      throw new NoSound(
        'Browsers play this only from this machine or over a safe connection. Open the address that begins with http://127.0.0.1.',
      );
    await context.audioWorklet.addModule(workletUrl);
    const node = new AudioWorkletNode(context, deskProcessor, {
      numberOfInputs: 0,
      numberOfOutputs: 1,
      outputChannelCount: [2],
    });
    return new OpenDevice(context, node, events);
  } catch (error) {
    await context.close().catch(() => {});
    if (error instanceof NoSound) throw error;
    throw new NoSound('The part that plays could not be loaded. Load the page anew.', { cause: error });
  }
}

function newContext(): AudioContext {
  try {
    // Room enough that a busy machine does not stutter, little enough that a switch is heard at once.
    return new AudioContext({ latencyHint: 'balanced' });
  } catch (error) {
    throw new NoSound(noDevice, { cause: error });
  }
}

export const noDevice =
  'The browser has no sound device to play on. Plug one in or choose one in the system’s settings; playing begins when there is one.';
const unplugged =
  'The sound device is gone. The position is kept; playing goes on when there is a device again.';

class OpenDevice implements SoundDevice {
  readonly context: AudioContext;
  readonly #node: AudioWorkletNode;
  readonly #leave = new AbortController();
  #sent = 0;

  constructor(context: AudioContext, node: AudioWorkletNode, events: DeviceEvents) {
    this.context = context;
    this.#node = node;
    node.port.onmessage = ({ data }: MessageEvent<FromWorklet>) => events.report(data);
    node.connect(context.destination);
    const { signal } = this.#leave;
    const lost = (sentence: string) => {
      if (!signal.aborted) events.lost(sentence);
    };
    context.addEventListener(
      'statechange',
      () => {
        if (context.state === 'closed') lost(unplugged);
        else events.stateChanged();
      },
      { signal },
    );
    context.addEventListener('error', () => lost(unplugged), { signal });
    node.addEventListener(
      'processorerror',
      () => lost('The part that plays has failed. It is started anew.'),
      { signal },
    );
    watchOutputs(signal, () => lost(unplugged));
    watchFlow(context, signal, () => lost(unplugged));
  }

  get sent(): number {
    return this.#sent;
  }

  send(message: ToWorklet, transfer: Transferable[] = []): void {
    this.#sent++;
    this.#node.port.postMessage(message, transfer);
  }

  async close(): Promise<void> {
    this.#leave.abort();
    this.#node.port.onmessage = null;
    this.#node.disconnect();
    await this.context.close().catch(() => {});
  }
}

/** Tells when there were outputs and now there is none. (A browser that moves to another output by itself is left alone.) */
function watchOutputs(signal: AbortSignal, gone: () => void): void {
  const { mediaDevices } = navigator;
  if (!mediaDevices?.enumerateDevices) return;
  let before = 0;
  const look = async () => {
    const outputs = await outputCount().catch(() => before);
    if (signal.aborted) return;
    if (before > 0 && outputs === 0) gone();
    before = outputs;
  };
  mediaDevices.addEventListener('devicechange', () => void look(), { signal });
  void look();
}

async function outputCount(): Promise<number> {
  const devices = await navigator.mediaDevices.enumerateDevices();
  return devices.filter(({ kind }) => kind === 'audiooutput').length;
}

/** Tells when a running context's clock stands still. */
function watchFlow(context: AudioContext, signal: AbortSignal, stalled: () => void): void {
  let before = -1;
  let still = 0;
  const timer = setInterval(() => {
    still = context.state === 'running' && context.currentTime === before ? still + 1 : 0;
    before = context.currentTime;
    if (still === 2) stalled();
  }, lookEvery);
  signal.addEventListener('abort', () => clearInterval(timer));
}

/** Resolves when the devices changed, or after a while. */
export function deviceMayBeBack(signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      clearTimeout(timer);
      navigator.mediaDevices?.removeEventListener('devicechange', done);
      signal.removeEventListener('abort', done);
      resolve();
    };
    const timer = setTimeout(done, 2000);
    navigator.mediaDevices?.addEventListener('devicechange', done);
    signal.addEventListener('abort', done);
  });
}
