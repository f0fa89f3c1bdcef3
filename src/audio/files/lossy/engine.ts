import { CodedError } from '../../coded-error.ts';
import type { CodedSound, LossyChoice, LossyEngine } from '../../lossy.ts';
import { codedRate } from '../../lossy-rate.ts';
import { choiceLabel, type FfmpegCodec, ffmpegRecipe } from '../../lossy-recipe.ts';
import { frameCount, type Pcm } from '../../pcm.ts';
import { partOfRun, type Run } from '../../run.ts';
import type { Ffmpeg } from './ffmpeg.ts';
import { codeWithFfmpeg, resample, resamplingSetting } from './ffmpeg-codec.ts';
import { SystemFfmpeg } from './ffmpeg-system.ts';
import { WasmFfmpeg } from './ffmpeg-wasm.ts';
import { OpusWasm } from './opus-wasm.ts';
import { givesKnownPeaks } from './trust.ts';

/**
 * 'wasm': the codecs that come with Everyroom, the same on every machine. 'system': the machine's ffmpeg for each
 * codec in which it gives the same figures, WebAssembly for the others and for Opus, whose library differs between
 * builds. A round trip of 60 s of stereo took about the same processor time in both when it was measured (AAC 128:
 * 0.69 s and 0.87 s; MP3 128: 1.11 s and 1.00 s), so that starting processes buys nothing but their own memory.
 */
export type EngineChoice = 'wasm' | 'system';

/** The engine asked for by the environment: EVERYROOM_ENGINE=system; 'wasm' otherwise. */
export function engineChoice(env: NodeJS.ProcessEnv): EngineChoice {
  return env.EVERYROOM_ENGINE === 'system' ? 'system' : 'wasm';
}

/** An engine with nothing loaded yet. */
export function openLossyEngine(choice: EngineChoice = engineChoice(process.env)): LossyEngine {
  return new Engine(choice);
}

class Engine implements LossyEngine {
  readonly #choice: EngineChoice;
  #system: Promise<SystemFfmpeg | null> | null = null;
  #ffmpeg: Promise<WasmFfmpeg> | null = null;
  #opus: Promise<OpusWasm> | null = null;
  readonly #trusted = new Map<FfmpegCodec, Promise<boolean>>();
  #last: Promise<unknown> = Promise.resolve();

  constructor(choice: EngineChoice) {
    this.#choice = choice;
  }

  code(pcm: Pcm, choice: LossyChoice, run: Run = {}): Promise<CodedSound> {
    // The WebAssembly instances take one call at a time.
    const result = this.#last.then(() => this.#code(pcm, choice, run));
    this.#last = result.catch(() => {});
    return result;
  }

  free(): void {
    this.#ffmpeg = null;
    this.#opus = null;
  }

  async #code(pcm: Pcm, choice: LossyChoice, run: Run): Promise<CodedSound> {
    run.signal?.throwIfAborted();
    const label = choiceLabel(choice);
    const channels = pcm.channels.length;
    if (channels > 2)
      throw new CodedError(
        'CODEC_UNSUITABLE',
        `${label} is a format for mono and stereo, this sound has ${channels} channels: make a stereo fold-down and check that.`,
      );
    if (frameCount(pcm) === 0) throw new CodedError('SOUND_NO_SAMPLES', 'There are no samples to encode.');
    const rate = codedRate(choice.codec, pcm.sampleRate);
    if (rate === pcm.sampleRate) return this.#codeAtRate(pcm, choice, run);
    const sent = await resample(await this.#anyFfmpeg(), pcm, rate, partOfRun(run, 0, 0.1));
    const coded = await this.#codeAtRate(sent, choice, partOfRun(run, 0.1, 1));
    return { ...coded, settings: `${coded.settings}, ${resamplingSetting(pcm.sampleRate, rate)}` };
  }

  async #codeAtRate(sent: Pcm, { codec, nominalKbps }: LossyChoice, run: Run): Promise<CodedSound> {
    if (codec === 'opus') return { sent, ...(await this.#codeOpus(sent, nominalKbps, run)) };
    const choice = { codec, nominalKbps };
    const recipe = ffmpegRecipe(choice);
    const ffmpeg = (await this.#trustedSystem(codec)) ?? (await this.#wasm());
    return { sent, ...(await codeWithFfmpeg(ffmpeg, sent, choice, recipe, run)) };
  }

  async #codeOpus(sent: Pcm, nominalKbps: number, run: Run) {
    this.#opus ??= load('Opus', OpusWasm.open());
    try {
      return await (await this.#opus).code(sent, nominalKbps, run);
    } catch (error) {
      run.signal?.throwIfAborted();
      // After a trap the module is in no state to be used again.
      this.#opus = null;
      if (error instanceof CodedError) throw error;
      throw new CodedError(
        'CODEC_FAILED',
        `The Opus codec stopped: ${error instanceof Error ? error.message : error}`,
        { cause: error },
      );
    }
  }

  /** The machine's ffmpeg, when it may be used for this codec. */
  async #trustedSystem(codec: FfmpegCodec): Promise<Ffmpeg | null> {
    const system = await this.#findSystem();
    if (!system) return null;
    let trusted = this.#trusted.get(codec);
    if (!trusted) {
      trusted = givesKnownPeaks(system, codec);
      this.#trusted.set(codec, trusted);
    }
    return (await trusted) ? system : null;
  }

  #findSystem(): Promise<SystemFfmpeg | null> {
    this.#system ??= this.#choice === 'wasm' ? Promise.resolve(null) : SystemFfmpeg.find();
    return this.#system;
  }

  async #anyFfmpeg(): Promise<Ffmpeg> {
    return (await this.#findSystem()) ?? (await this.#wasm());
  }

  async #wasm(): Promise<WasmFfmpeg> {
    this.#ffmpeg ??= load('FFmpeg', WasmFfmpeg.open());
    try {
      return await this.#ffmpeg;
    } catch (error) {
      this.#ffmpeg = null;
      throw error;
    }
  }
}

async function load<T>(name: string, opening: Promise<T>): Promise<T> {
  try {
    return await opening;
  } catch (error) {
    throw new CodedError('CODEC_FAILED', `The ${name} codecs could not be loaded.`, { cause: error });
  }
}
