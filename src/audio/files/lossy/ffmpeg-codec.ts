import { CodedError } from '../../coded-error.ts';
import type { CodedSound, LossyChoice, ReadablePcm } from '../../lossy.ts';
import { choiceLabel, type FfmpegRecipe } from '../../lossy-recipe.ts';
import { partOfRun, type Run } from '../../run.ts';
import { type ByteSink, BytesSource, PcmSource } from './byte-stream.ts';
import { codedByteCount } from './coded-bytes.ts';
import { type Ffmpeg, inputMark, outputMark } from './ffmpeg.ts';

/** Half-width of FFmpeg's resampling filter (taps) and its cut-off (share of the lower Nyquist): sharper than its defaults. */
const resampler = 'filter_size=64:cutoff=0.97';

/** How the resampling is named among the settings of a round trip. */
export function resamplingSetting(fromHz: number, toHz: number): string {
  return `resampled from ${fromHz} to ${toHz} Hz (swresample ${resampler})`;
}

/** Silence sent after a sound that is resampled, so that the filter gives back its end, frames. */
const resamplerTail = 4096;

/** Frames of a sound at another rate. */
export function resampledFrames({ frames, sampleRate }: ReadablePcm, toHz: number): number {
  return Math.ceil((frames * toHz) / sampleRate);
}

/** Frames that `resample` may hand out beyond those of the sound. */
export function resamplerExtra({ sampleRate }: ReadablePcm, toHz: number): number {
  return resamplerTail * Math.ceil(toHz / sampleRate);
}

/** The sound at another rate, by FFmpeg's resampler, not clipped; what comes after resampledFrames is to be cut off. */
export async function resample(
  ffmpeg: Ffmpeg,
  sound: ReadablePcm,
  toHz: number,
  output: ByteSink,
  run: Run,
): Promise<void> {
  await ffmpeg.exec(
    [...rawArgs(sound), '-i', inputMark, '-af', `aresample=${toHz}:${resampler}`, '-f', 'f32le', outputMark],
    new PcmSource(sound, 1, resamplerTail),
    output,
    run,
  );
}

/** Encodes a sound and decodes what came of it into `output`, which undoes the gain of the recipe. */
export async function codeWithFfmpeg(
  ffmpeg: Ffmpeg,
  sound: ReadablePcm,
  choice: LossyChoice,
  recipe: FfmpegRecipe,
  output: ByteSink,
  run: Run,
): Promise<Omit<CodedSound, 'sent' | 'decoded'>> {
  const pieces: Uint8Array[] = [];
  await ffmpeg.exec(
    [
      ...rawArgs(sound),
      '-i',
      inputMark,
      '-c:a',
      recipe.encoder,
      ...recipe.encoderArgs,
      ...recipe.muxerArgs,
      '-f',
      recipe.container,
      outputMark,
    ],
    new PcmSource(sound, recipe.gain, recipe.tailFrames),
    { push: (bytes) => pieces.push(bytes.slice()) },
    partOfRun(run, 0, 0.65),
  );
  const coded = Buffer.concat(pieces);
  if (coded.length === 0)
    throw new CodedError('CODEC_FAILED', `The encoder for ${choiceLabel(choice)} gave nothing.`);
  await ffmpeg.exec(
    ['-f', recipe.demuxer, '-c:a', recipe.decoder, '-i', inputMark, '-f', 'f32le', outputMark],
    new BytesSource(coded),
    output,
    partOfRun(run, 0.65, 1),
  );
  const settings = recipe.encoderArgs.join(' ');
  return {
    settings:
      recipe.gain === 1 ? settings : `${settings}, sent at gain ${recipe.gain}, undone after decoding`,
    encoder: encoderName(ffmpeg, recipe, coded),
    codedBytes: codedByteCount(recipe.container, coded),
  };
}

function rawArgs({ sampleRate, channelCount }: ReadablePcm): string[] {
  return ['-f', 'f32le', '-ar', String(sampleRate), '-ac', String(channelCount)];
}

/** LAME signs the stuffing of its frames with its version; the others leave it to libavcodec. */
function encoderName(ffmpeg: Ffmpeg, recipe: FfmpegRecipe, coded: Buffer): string {
  const name = `${ffmpeg.signature} ${recipe.encoder}`;
  if (recipe.encoder !== 'libmp3lame') return name;
  const at = coded.indexOf('LAME');
  const lame = at < 0 ? null : /^LAME\d[\d.]+/.exec(coded.toString('latin1', at, at + 12));
  return lame ? `${name} (${lame[0]})` : name;
}
