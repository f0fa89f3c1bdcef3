import type { ReadablePcm } from '../../lossy.ts';
import { frameCount, type Pcm, slicePcm } from '../../pcm.ts';

/** Bytes that are handed out once, from first to last, in pieces of the taker's size. */
export interface ByteSource {
  readonly byteLength: number;
  /** The next bytes, at most `max`; empty at the end. Valid until the next call. */
  next(max: number): Uint8Array;
}

/** Takes bytes as they come. */
export interface ByteSink {
  /** The next bytes, valid during the call only. */
  push(bytes: Uint8Array): void;
  /** Descriptor of a file into which a program may write the bytes itself instead. */
  readonly fd?: number;
  /** Bytes for a place, where the program goes back to it (a header that is filled in last); valid during the call only. */
  pushAt?(bytes: Uint8Array, position: number): void;
}

const blockFrames = 32_768;

/** Sound in memory, read like one on disk. */
export function inMemory(pcm: Pcm): ReadablePcm {
  return {
    sampleRate: pcm.sampleRate,
    channelCount: pcm.channels.length,
    frames: frameCount(pcm),
    read: (from, to) => slicePcm(pcm, from, to),
  };
}

/** Sound as interleaved 32-bit float bytes, made as they are asked for, followed by `tailFrames` of silence. */
export class PcmSource implements ByteSource {
  readonly byteLength: number;
  readonly #sound: ReadablePcm;
  readonly #gain: number;
  readonly #frames: number;
  readonly #scratch: Float32Array;
  #frame = 0;
  #block: Uint8Array = new Uint8Array(0);

  constructor(sound: ReadablePcm, gain = 1, tailFrames = 0) {
    this.#sound = sound;
    this.#gain = gain;
    this.#frames = sound.frames + tailFrames;
    this.byteLength = this.#frames * sound.channelCount * 4;
    this.#scratch = new Float32Array(blockFrames * sound.channelCount);
  }

  next(max: number): Uint8Array {
    if (this.#block.length === 0) this.#block = this.#interleave();
    const bytes = this.#block.subarray(0, max);
    this.#block = this.#block.subarray(bytes.length);
    return bytes;
  }

  #interleave(): Uint8Array {
    const frames = Math.min(blockFrames, this.#frames - this.#frame);
    const start = this.#frame;
    const { channels } = this.#sound.read(
      Math.min(start, this.#sound.frames),
      Math.min(start + frames, this.#sound.frames),
    );
    this.#frame += frames;
    return interleave(channels, frames, this.#gain, this.#scratch);
  }
}

/** Interleaves `frames` of planar sound, silence where it ends before, into `scratch`; its bytes. */
export function interleave(
  channels: readonly Float32Array[],
  frames: number,
  gain: number,
  scratch: Float32Array,
): Uint8Array {
  const count = channels.length;
  channels.forEach((samples, c) => {
    const sounding = Math.min(frames, samples.length);
    for (let i = 0; i < sounding; i++) scratch[i * count + c] = samples[i] * gain;
    for (let i = sounding; i < frames; i++) scratch[i * count + c] = 0;
  });
  return new Uint8Array(scratch.buffer, 0, frames * count * 4);
}

/** Bytes already at hand. */
export class BytesSource implements ByteSource {
  readonly byteLength: number;
  #rest: Uint8Array;

  constructor(bytes: Uint8Array) {
    this.byteLength = bytes.length;
    this.#rest = bytes;
  }

  next(max: number): Uint8Array {
    const bytes = this.#rest.subarray(0, max);
    this.#rest = this.#rest.subarray(bytes.length);
    return bytes;
  }
}

/** Takes interleaved 32-bit float bytes in pieces of any size and gives planar sound. */
export class PcmSink implements ByteSink {
  readonly #gain: number;
  readonly #pending: Uint8Array;
  #channels: Float32Array[];
  #frames = 0;
  #pendingBytes = 0;

  /** `expectedFrames` only saves copying; more or fewer may come. */
  constructor(channelCount: number, expectedFrames: number, gain = 1) {
    this.#gain = gain;
    this.#channels = Array.from({ length: channelCount }, () => new Float32Array(expectedFrames));
    this.#pending = new Uint8Array(channelCount * 4);
  }

  push(bytes: Uint8Array): void {
    const frameBytes = this.#pending.length;
    let rest = bytes;
    if (this.#pendingBytes > 0) {
      const part = rest.subarray(0, frameBytes - this.#pendingBytes);
      this.#pending.set(part, this.#pendingBytes);
      this.#pendingBytes += part.length;
      rest = rest.subarray(part.length);
      if (this.#pendingBytes < frameBytes) return;
      this.#pendingBytes = 0;
      this.#take(this.#pending, 1);
    }
    const frames = Math.floor(rest.length / frameBytes);
    this.#take(rest, frames);
    const left = rest.subarray(frames * frameBytes);
    this.#pending.set(left);
    this.#pendingBytes = left.length;
  }

  finish(sampleRate: number): Pcm {
    return { sampleRate, channels: this.#channels.map((samples) => samples.subarray(0, this.#frames)) };
  }

  #take(bytes: Uint8Array, frames: number): void {
    const end = this.#frames + frames;
    if (end > this.#channels[0].length) this.#grow(end);
    const count = this.#channels.length;
    const length = frames * count;
    // In the machine's byte order, as the source writes it; a view where the bytes lie as floats must.
    const floats =
      bytes.byteOffset % 4 === 0
        ? new Float32Array(bytes.buffer, bytes.byteOffset, length)
        : new Float32Array(bytes.slice(0, length * 4).buffer);
    const [start, gain] = [this.#frames, this.#gain];
    this.#channels.forEach((samples, c) => {
      for (let i = 0, at = c; i < frames; i++, at += count) samples[start + i] = floats[at] * gain;
    });
    this.#frames = end;
  }

  #grow(frames: number): void {
    const capacity = Math.ceil(frames * 1.25) + blockFrames;
    this.#channels = this.#channels.map((samples) => {
      const wider = new Float32Array(capacity);
      wider.set(samples);
      return wider;
    });
  }
}
