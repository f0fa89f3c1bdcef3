import { Fader } from '../sound/fader.ts';
import { crossfadeSeconds, fadeSeconds, gainOf, type Sounds } from './sounds.ts';

/** Sounds in memory, played by plain buffer sources: sample for sample in step, and without need of a secure context. */
export class BufferSounds implements Sounds {
  readonly seconds: number;
  heard = 0;
  playing = false;
  readonly #context: AudioContext;
  readonly #buffers: readonly AudioBuffer[];
  readonly #level: GainNode;
  #sources: readonly AudioBufferSourceNode[] = [];
  #faders: readonly Fader[] = [];
  #whole: Fader | null = null;
  #startedAt = 0;
  #offset = 0;

  constructor(context: AudioContext, buffers: readonly AudioBuffer[]) {
    this.#context = context;
    this.#buffers = buffers;
    this.seconds = Math.min(...buffers.map(({ duration }) => duration));
    this.#level = context.createGain();
    this.#level.connect(context.destination);
  }

  hear(index: number): void {
    this.heard = index;
    this.#faders.forEach((fader, i) => {
      fader.fadeTo(i === index ? 1 : 0, this.#context.currentTime);
    });
  }

  play(): void {
    if (this.playing) return;
    void this.#context.resume();
    this.playing = true;
    const whole = new Fader(this.#context, 0, fadeSeconds);
    whole.node.connect(this.#level);
    this.#whole = whole;
    this.#faders = this.#buffers.map(
      (_, i) => new Fader(this.#context, i === this.heard ? 1 : 0, crossfadeSeconds),
    );
    this.#sources = this.#buffers.map((buffer, i) => {
      const source = this.#context.createBufferSource();
      source.buffer = buffer;
      source.loop = true;
      source.connect(this.#faders[i]!.node).connect(whole.node);
      return source;
    });
    // One moment for all, a little ahead, so that none is late.
    this.#startedAt = this.#context.currentTime + 0.02;
    for (const source of this.#sources) source.start(this.#startedAt, this.#offset);
    whole.fadeTo(1, this.#startedAt);
  }

  pause(): void {
    if (!this.playing) return;
    this.#offset = this.position();
    this.playing = false;
    const now = this.#context.currentTime;
    this.#whole?.fadeTo(0, now);
    for (const source of this.#sources) source.stop(now + fadeSeconds);
    this.#sources = [];
    this.#faders = [];
  }

  position(): number {
    if (!this.playing) return this.#offset;
    return (this.#offset + Math.max(0, this.#context.currentTime - this.#startedAt)) % this.seconds;
  }

  setLevel(db: number): void {
    this.#level.gain.setTargetAtTime(gainOf(db), this.#context.currentTime, 0.02);
  }

  close(): void {
    this.pause();
    // Not before the last of it has faded.
    setTimeout(() => this.#level.disconnect(), 1000 * fadeSeconds * 2);
  }
}
