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
import { givesKnownPeaks, probeKbps } from './trust.ts';

/** Which codecs code. Plain JSON: it is part of the key that results are kept under. */
export interface EngineChoice {
  /** The WebAssembly codecs that come with Everyroom, with their versions. */
  readonly wasm: string;
  /** The machine's ffmpeg, with the codecs it is used for; null: it is not used. */
  readonly system: {
    readonly signature: string;
    readonly codecs: readonly FfmpegCodec[];
  } | null;
}

/** The codecs that come with Everyroom, the same on every machine. */
export const wasmOnly: EngineChoice = { wasm: '@ffmpeg/core 0.12.10, libav.js 6.10.9', system: null };

/**
 * The engine for this machine: its own ffmpeg for each codec in which that gives the same peaks on a probe, because a
 * native program codes quicker than WebAssembly (docs/survive.md has the figures); WebAssembly for the others and
 * for Opus, whose library differs between builds. Asks the program, which takes some tenths of a second: ask once.
 */
export async function chooseEngine(): Promise<EngineChoice> {
  const system = await SystemFfmpeg.find();
  if (!system) return wasmOnly;
  const codecs = Object.keys(probeKbps) as FfmpegCodec[];
  const trusted = await Promise.all(codecs.map((codec) => givesKnownPeaks(system, codec)));
  return {
    ...wasmOnly,
    system: { signature: system.signature, codecs: codecs.filter((_codec, i) => trusted[i]) },
  };
}

/** An engine with nothing loaded yet. */
export function openLossyEngine(choice: EngineChoice = wasmOnly): LossyEngine {
  return new Engine(choice);
}

class Engine implements LossyEngine {
  readonly #choice: EngineChoice;
  #system: Promise<SystemFfmpeg | null> | null = null;
  #ffmpeg: Promise<WasmFfmpeg> | null = null;
  #opus: Promise<OpusWasm> | null = null;
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
    const ffmpeg = this.#choice.system?.codecs.includes(codec) ? await this.#anyFfmpeg() : await this.#wasm();
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

  /** The machine's ffmpeg, as long as it is the one that was chosen. */
  async #findSystem(): Promise<SystemFfmpeg | null> {
    this.#system ??= this.#choice.system ? SystemFfmpeg.find() : Promise.resolve(null);
    const system = await this.#system;
    return system?.signature === this.#choice.system?.signature ? system : null;
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
