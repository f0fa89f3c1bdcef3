import { type FromRecorder, recorderProcessor } from './recorder-messages.ts';

// What an AudioWorklet's global scope has; TypeScript's own library does not say.
declare class AudioWorkletProcessor {
  readonly port: MessagePort;
}
declare function registerProcessor(name: string, processor: new () => AudioWorkletProcessor): void;

/** Frames a message: a tenth of a second or less, often enough for a meter. */
const framesAtOnce = 4096;

/** Hands on every sample that comes in, as it is. */
class RecorderProcessor extends AudioWorkletProcessor {
  #channels: Float32Array<ArrayBuffer>[] = [];
  #filled = 0;

  process([input]: readonly (readonly Float32Array[])[]): boolean {
    const first = input?.[0];
    if (!input || !first) return true;
    if (this.#channels.length !== input.length) {
      this.#channels = input.map(() => new Float32Array(framesAtOnce));
      this.#filled = 0;
    }
    for (const [c, samples] of input.entries()) this.#channels[c]?.set(samples, this.#filled);
    this.#filled += first.length;
    if (this.#filled < framesAtOnce) return true;
    const message: FromRecorder = this.#channels;
    this.port.postMessage(
      message,
      this.#channels.map(({ buffer }) => buffer),
    );
    this.#channels = [];
    this.#filled = 0;
    return true;
  }
}

registerProcessor(recorderProcessor, RecorderProcessor);
