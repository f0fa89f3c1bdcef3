import { CodedError } from '../../coded-error.ts';
import type { CodedSound, LossyChoice } from '../../lossy.ts';
import { choiceLabel, type FfmpegRecipe } from '../../lossy-recipe.ts';
import { frameCount, type Pcm, slicePcm } from '../../pcm.ts';
import { partOfRun, type Run } from '../../run.ts';
import { BytesSource, PcmSink, PcmSource } from './byte-stream.ts';
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

/** The sound at another rate, by FFmpeg's resampler; not clipped, of the same duration to within a sample. */
export async function resample(ffmpeg: Ffmpeg, pcm: Pcm, sampleRate: number, run: Run): Promise<Pcm> {
  const channels = pcm.channels.length;
  const frames = Math.ceil((frameCount(pcm) * sampleRate) / pcm.sampleRate);
  const sink = new PcmSink(channels, frames + resamplerTail * Math.ceil(sampleRate / pcm.sampleRate));
  await ffmpeg.exec(
    [
      ...rawArgs(pcm),
      '-i',
      inputMark,
      '-af',
      `aresample=${sampleRate}:${resampler}`,
      '-f',
      'f32le',
      outputMark,
    ],
    new PcmSource(pcm, 1, resamplerTail),
    (bytes) => sink.push(bytes),
    run,
  );
  return slicePcm(sink.finish(sampleRate), 0, frames);
}

/** Encodes `pcm` and decodes what came of it. */
export async function codeWithFfmpeg(
  ffmpeg: Ffmpeg,
  pcm: Pcm,
  choice: LossyChoice,
  recipe: FfmpegRecipe,
  run: Run,
): Promise<Omit<CodedSound, 'sent'>> {
  const channels = pcm.channels.length;
  const pieces: Uint8Array[] = [];
  await ffmpeg.exec(
    [
      ...rawArgs(pcm),
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
    new PcmSource(pcm, recipe.gain, recipe.tailFrames),
    (bytes) => pieces.push(bytes.slice()),
    partOfRun(run, 0, 0.65),
  );
  const coded = Buffer.concat(pieces);
  if (coded.length === 0)
    throw new CodedError('CODEC_FAILED', `The encoder for ${choiceLabel(choice)} gave nothing.`);
  const sink = new PcmSink(channels, frameCount(pcm) + 8192, 1 / recipe.gain);
  await ffmpeg.exec(
    ['-f', recipe.demuxer, '-c:a', recipe.decoder, '-i', inputMark, '-f', 'f32le', outputMark],
    new BytesSource(coded),
    (bytes) => sink.push(bytes),
    partOfRun(run, 0.65, 1),
  );
  const settings = recipe.encoderArgs.join(' ');
  return {
    settings:
      recipe.gain === 1 ? settings : `${settings}, sent at gain ${recipe.gain}, undone after decoding`,
    encoder: encoderName(ffmpeg, recipe, coded),
    codedBytes: codedByteCount(recipe.container, coded),
    decoded: sink.finish(pcm.sampleRate),
  };
}

function rawArgs(pcm: Pcm): string[] {
  return ['-f', 'f32le', '-ar', String(pcm.sampleRate), '-ac', String(pcm.channels.length)];
}

/** LAME signs the stuffing of its frames with its version; the others leave it to libavcodec. */
function encoderName(ffmpeg: Ffmpeg, recipe: FfmpegRecipe, coded: Buffer): string {
  const name = `${ffmpeg.signature} ${recipe.encoder}`;
  if (recipe.encoder !== 'libmp3lame') return name;
  const at = coded.indexOf('LAME');
  const lame = at < 0 ? null : /^LAME\d[\d.]+/.exec(coded.toString('latin1', at, at + 12));
  return lame ? `${name} (${lame[0]})` : name;
}
