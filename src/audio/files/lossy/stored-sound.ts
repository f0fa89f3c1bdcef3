import type { SoundStream, StoredPcm } from '../../lossy.ts';
import { frameCount, type Pcm } from '../../pcm.ts';
import type { Run } from '../../run.ts';
import { type ByteSink, interleave, PcmSink } from './byte-stream.ts';
import { ScratchFile } from './scratch-file.ts';

/** Sound on disk as interleaved 32-bit floats. A sink too: what is pushed lies behind what is there. */
export class StoredSound implements StoredPcm, ByteSink {
  readonly sampleRate: number;
  readonly channelCount: number;
  readonly #file = ScratchFile.create();
  readonly #gain: number;
  /** Bytes written through this object; a program that was given the descriptor writes past it. */
  #pushed = 0;

  /** @param gain by which everything is multiplied when it is read */
  constructor(sampleRate: number, channelCount: number, gain = 1) {
    this.sampleRate = sampleRate;
    this.channelCount = channelCount;
    this.#gain = gain;
  }

  /** Writes a stream down. Rejects with what its blocks throw, and DISK_FULL. */
  static async of({ sampleRate, channels, blocks }: SoundStream, run: Run): Promise<StoredSound> {
    const sound = new StoredSound(sampleRate, channels);
    try {
      let scratch = new Float32Array(0);
      for await (const block of blocks) {
        run.signal?.throwIfAborted();
        const frames = frameCount(block);
        if (scratch.length < frames * channels) scratch = new Float32Array(frames * channels);
        sound.push(interleave(block.channels, frames, 1, scratch));
      }
      return sound;
    } catch (error) {
      sound.close();
      throw error;
    }
  }

  get fd(): number {
    return this.#file.fd;
  }

  get frames(): number {
    return Math.floor(this.#file.byteLength / this.#frameBytes);
  }

  push(bytes: Uint8Array): void {
    this.#file.write(bytes, this.#pushed);
    this.#pushed += bytes.length;
  }

  read(from: number, to: number): Pcm {
    const sink = new PcmSink(this.channelCount, to - from, this.#gain);
    const bytes = new Uint8Array((to - from) * this.#frameBytes);
    sink.push(bytes.subarray(0, this.#file.read(bytes, from * this.#frameBytes)));
    return sink.finish(this.sampleRate);
  }

  /** Lets go of everything from a frame on. */
  cut(frames: number): void {
    this.#file.cut(frames * this.#frameBytes);
  }

  close(): void {
    this.#file.close();
  }

  get #frameBytes(): number {
    return 4 * this.channelCount;
  }
}
