import { CodedError } from '../../coded-error.ts';
import type { CodedSound, LossyChoice, LossyEngine, SoundStream, StoredCodedSound } from '../../lossy.ts';
import { codedRate } from '../../lossy-rate.ts';
import { choiceLabel, type FfmpegCodec, ffmpegRecipe } from '../../lossy-recipe.ts';
import { frameCount, type Pcm, slicePcm } from '../../pcm.ts';
import { partOfRun, type Run } from '../../run.ts';
import { inMemory, PcmSink } from './byte-stream.ts';
import type { Ffmpeg } from './ffmpeg.ts';
import {
  codeWithFfmpeg,
  resample,
  resampledFrames,
  resamplerExtra,
  resamplingSetting,
} from './ffmpeg-codec.ts';
import { SystemFfmpeg } from './ffmpeg-system.ts';
import { WasmFfmpeg } from './ffmpeg-wasm.ts';
import { OpusWasm } from './opus-wasm.ts';
import { StoredSound } from './stored-sound.ts';
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
    return this.#inTurn(() => this.#code(pcm, choice, run));
  }

  codeStored(sound: SoundStream, choice: LossyChoice, run: Run = {}): Promise<StoredCodedSound> {
    return this.#inTurn(() => this.#codeStored(sound, choice, run));
  }

  /** The WebAssembly instances take one call at a time. */
  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const result = this.#last.then(work);
    this.#last = result.catch(() => {});
    return result;
  }

  free(): void {
    this.#ffmpeg = null;
    this.#opus = null;
  }

  async #code(pcm: Pcm, choice: LossyChoice, run: Run): Promise<CodedSound> {
    run.signal?.throwIfAborted();
    refuseChannels(choice, pcm.channels.length);
    if (frameCount(pcm) === 0) throw noSamples();
    const rate = codedRate(choice.codec, pcm.sampleRate);
    if (rate === pcm.sampleRate) return this.#codeAtRate(pcm, choice, run);
    const sound = inMemory(pcm);
    const frames = resampledFrames(sound, rate);
    const sink = new PcmSink(sound.channelCount, frames + resamplerExtra(sound, rate));
    await resample(await this.#anyFfmpeg(), sound, rate, sink, partOfRun(run, 0, 0.1));
    const sent = slicePcm(sink.finish(rate), 0, frames);
    const coded = await this.#codeAtRate(sent, choice, partOfRun(run, 0.1, 1));
    return { ...coded, settings: `${coded.settings}, ${resamplingSetting(pcm.sampleRate, rate)}` };
  }

  async #codeAtRate(sent: Pcm, { codec, nominalKbps }: LossyChoice, run: Run): Promise<CodedSound> {
    if (codec === 'opus') return { sent, ...(await this.#codeOpus(sent, nominalKbps, run)) };
    const choice = { codec, nominalKbps };
    const recipe = ffmpegRecipe(choice);
    const sink = new PcmSink(sent.channels.length, frameCount(sent) + 8192, 1 / recipe.gain);
    const ffmpeg = await this.#ffmpegFor(codec);
    const coded = await codeWithFfmpeg(ffmpeg, inMemory(sent), choice, recipe, sink, run);
    return { sent, ...coded, decoded: sink.finish(sent.sampleRate) };
  }

  async #codeStored(sound: SoundStream, choice: LossyChoice, run: Run): Promise<StoredCodedSound> {
    run.signal?.throwIfAborted();
    const { codec, nominalKbps } = choice;
    refuseChannels(choice, sound.channels);
    if (codec === 'opus')
      throw new CodedError('CODEC_UNSUITABLE', 'Opus codes long sounds in pieces, not from disk.');
    const rate = codedRate(codec, sound.sampleRate);
    const recipe = ffmpegRecipe({ codec, nominalKbps });
    const open: StoredSound[] = [];
    try {
      let sent = await StoredSound.of(sound, run);
      open.push(sent);
      if (sent.frames === 0) throw noSamples();
      if (rate !== sent.sampleRate) {
        const resampled = new StoredSound(rate, sent.channelCount);
        open.push(resampled);
        await resample(await this.#anyFfmpeg(), sent, rate, resampled, partOfRun(run, 0, 0.1));
        resampled.cut(resampledFrames(sent, rate));
        sent.close();
        open.shift();
        sent = resampled;
      }
      const decoded = new StoredSound(rate, sent.channelCount, 1 / recipe.gain);
      open.push(decoded);
      const ffmpeg = await this.#ffmpegFor(codec);
      const part = partOfRun(run, 0.1, 1);
      const coded = await codeWithFfmpeg(ffmpeg, sent, choice, recipe, decoded, part);
      const settings =
        rate === sound.sampleRate
          ? coded.settings
          : `${coded.settings}, ${resamplingSetting(sound.sampleRate, rate)}`;
      return { ...coded, settings, sent, decoded };
    } catch (error) {
      for (const each of open) each.close();
      throw error;
    }
  }

  /** The machine's ffmpeg where it was chosen for this codec. */
  async #ffmpegFor(codec: FfmpegCodec): Promise<Ffmpeg> {
    return this.#choice.system?.codecs.includes(codec) ? this.#anyFfmpeg() : this.#wasm();
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

function refuseChannels(choice: LossyChoice, channels: number): void {
  if (channels > 2)
    throw new CodedError(
      'CODEC_UNSUITABLE',
      `${choiceLabel(choice)} is a format for mono and stereo, this sound has ${channels} channels: make a stereo fold-down and check that.`,
    );
}

function noSamples(): CodedError {
  return new CodedError('SOUND_NO_SAMPLES', 'There are no samples to encode.');
}

async function load<T>(name: string, opening: Promise<T>): Promise<T> {
  try {
    return await opening;
  } catch (error) {
    throw new CodedError('CODEC_FAILED', `The ${name} codecs could not be loaded.`, { cause: error });
  }
}
