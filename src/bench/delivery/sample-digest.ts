import { createHash } from 'node:crypto';
import type { Pcm } from '../../audio/pcm.ts';

/** SHA-256 over all samples as whole numbers, however they are stored or cut into blocks. */
export class SampleDigest {
  readonly #steps: number;
  readonly #hashes;

  constructor(bits: number, channels: number) {
    this.#steps = 2 ** (bits - 1);
    this.#hashes = Array.from({ length: channels }, () => createHash('sha256'));
  }

  push({ channels }: Pcm): void {
    channels.forEach((samples, c) => {
      const whole = new Int32Array(samples.length);
      for (let i = 0; i < samples.length; i++) whole[i] = Math.round(samples[i] * this.#steps);
      this.#hashes[c].update(new Uint8Array(whole.buffer));
    });
  }

  finish(): string {
    const all = createHash('sha256');
    for (const hash of this.#hashes) all.update(hash.digest());
    return all.digest('hex');
  }
}
