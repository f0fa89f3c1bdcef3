import { Fader } from '../sound/fader.ts';

/** The three sounds of a passage: of one rate and length, planar. */
export type Part = 'original' | 'decoded' | 'difference';
export type LoopSounds = Readonly<Record<Part, readonly Float32Array[]>>;

const parts: readonly Part[] = ['original', 'decoded', 'difference'];

/** From one sound to another, seconds: too short to hear as a fade, too long to click. */
const crossfadeSeconds = 0.008;
/** From silence and back, seconds. */
const fadeSeconds = 0.02;
/** By how much the sounds given must be longer than the loop, seconds: its end runs on into its beginning. */
export const loopExtraSeconds = 0.02;

/**
 * Plays three sounds in a loop, all at once and in step, of which one is heard. Switching crossfades their gains, so the
 * place in the song stays. Times are those of the context. One player is started once.
 */
export class LoopPlayer {
  readonly #context: BaseAudioContext;
  readonly #sources: AudioBufferSourceNode[] = [];
  readonly #faders = new Map<Part, Fader>();
  readonly #master: Fader;
  #part: Part;

  /** @param sounds longer than the loop by `loopExtraSeconds`, which is folded into its beginning */
  constructor(context: BaseAudioContext, sounds: LoopSounds, sampleRate: number, part: Part) {
    this.#context = context;
    this.#part = part;
    this.#master = new Fader(context, 0, fadeSeconds);
    this.#master.node.connect(context.destination);
    for (const each of parts) {
      const fader = new Fader(context, each === part ? 1 : 0, crossfadeSeconds);
      const source = context.createBufferSource();
      const channels = sounds[each].map((samples) =>
        seamless(samples, Math.round(loopExtraSeconds * sampleRate)),
      );
      const buffer = context.createBuffer(channels.length, channels[0]?.length ?? 1, sampleRate);
      channels.forEach((samples, c) => {
        buffer.copyToChannel(samples, c);
      });
      source.buffer = buffer;
      source.loop = true;
      source.connect(fader.node).connect(this.#master.node);
      this.#sources.push(source);
      this.#faders.set(each, fader);
    }
  }

  get part(): Part {
    return this.#part;
  }

  start(when = this.#context.currentTime): void {
    for (const source of this.#sources) source.start(when);
    this.#master.fadeTo(1, when);
  }

  switchTo(part: Part, when = this.#context.currentTime): void {
    this.#part = part;
    for (const [each, fader] of this.#faders) fader.fadeTo(each === part ? 1 : 0, when);
  }

  /** Fades out; resolves when nothing is heard any more. */
  stop(when = this.#context.currentTime): Promise<void> {
    this.#master.fadeTo(0, when);
    const last = this.#sources[0];
    const ended = new Promise<void>((resolve) => last?.addEventListener('ended', () => resolve()));
    for (const source of this.#sources) source.stop(when + fadeSeconds);
    return ended;
  }
}

/** The samples without their last `seam`, which fade out over the first ones: the end of the loop runs on into its beginning. */
function seamless(samples: Float32Array, seam: number): Float32Array<ArrayBuffer> {
  const length = Math.max(1, samples.length - seam);
  const loop = samples.slice(0, length);
  for (let i = 0; i < Math.min(seam, samples.length - length, length); i++) {
    const share = (i + 0.5) / seam;
    loop[i] = (samples[i] ?? 0) * share + (samples[length + i] ?? 0) * (1 - share);
  }
  return loop as Float32Array<ArrayBuffer>;
}
