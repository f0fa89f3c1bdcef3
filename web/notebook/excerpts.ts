import { BufferSounds } from '../voter/buffer-sounds.ts';

/** The sounds of a walk in memory: once they are here, no network is needed. */
export class Excerpts {
  #context: AudioContext | null = null;
  #buffers: readonly AudioBuffer[] | null = null;

  get ready(): boolean {
    return this.#buffers !== null;
  }

  /** @param read the bytes of one of them; @param told how many are here */
  async load(
    handles: readonly string[],
    read: (handle: string) => Promise<ArrayBuffer>,
    told: (here: number) => void,
  ) {
    this.#context ??= new AudioContext();
    const buffers: AudioBuffer[] = [];
    for (const handle of handles) {
      buffers.push(await this.#context.decodeAudioData(await read(handle)));
      told(buffers.length);
    }
    this.#buffers = buffers;
  }

  /** To be called from a click or a key: only then a browser lets anything sound. */
  wake(): void {
    void this.#context?.resume();
  }

  open(): BufferSounds | null {
    return this.#context && this.#buffers ? new BufferSounds(this.#context, this.#buffers) : null;
  }
}

/** The bytes that a page carries in it, in base 64. */
export function carriedBytes(handle: string): ArrayBuffer {
  const text = document.getElementById(`sound-${handle}`)?.textContent;
  if (!text) throw new Error('This page was cut short: a sound is missing in it. Make it anew at the bench.');
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < letters.length; i++) bytes[i] = letters.charCodeAt(i);
  return bytes.buffer;
}
