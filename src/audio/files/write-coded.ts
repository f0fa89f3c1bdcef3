import { closeSync, fsyncSync, openSync, readSync, writeSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { aiffHeader, turnSamples } from '../encode-aiff.ts';
import type { LossyChoice } from '../lossy.ts';
import { ffmpegRecipe } from '../lossy-recipe.ts';
import type { Run } from '../run.ts';
import { bytesPerSample } from '../sample-coding.ts';
import { readWavHeader } from '../wav-header.ts';
import { fileError } from './file-error.ts';
import { openFileSource } from './file-source.ts';
import type { ByteSink, ByteSource } from './lossy/byte-stream.ts';
import { inputMark, outputMark } from './lossy/ffmpeg.ts';
import { WasmFfmpeg } from './lossy/ffmpeg-wasm.ts';

/** What a plain WAV file is turned into. */
export type CodedTarget =
  | { readonly container: 'FLAC' }
  | { readonly container: 'AIFF' }
  | { readonly container: 'MP3' | 'MP4'; readonly lossy: LossyChoice };

/** Samples of a plain WAV file: how they lie in it. */
interface PlainWav {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number;
  readonly coding: 's16' | 's24' | 'f32';
  readonly dataStart: number;
  readonly dataBytes: number;
}

/** Level of FLAC's own scale: its usual one. */
const flacLevel = '5';
let engine: Promise<WasmFfmpeg> | null = null;

/**
 * Turns a plain WAV file (16 or 24 bit for FLAC and AIFF) into another container, flushed. FLAC, MP3 and AAC by the WebAssembly
 * codecs that come with Everyroom and never by the machine's own, so that the bytes are the same on every machine. Rejects
 * with CodedError (CODEC_FAILED, DISK_FULL, ...), or with `run.signal.reason`; what was written so far is the caller's to
 * clear away.
 */
export async function writeCoded(
  wavPath: string,
  path: string,
  target: CodedTarget,
  run: Run = {},
): Promise<void> {
  const wav = await plainWav(wavPath);
  try {
    if (target.container === 'AIFF') await writeAiff(wavPath, wav, path, run);
    else await writeWithFfmpeg(wavPath, wav, path, target, run);
  } catch (error) {
    throw fileError(error, path, 'write');
  }
}

async function plainWav(path: string): Promise<PlainWav> {
  const source = await openFileSource(path);
  try {
    const { info, coding, dataStart, dataBytes } = await readWavHeader(source);
    if (coding !== 's16' && coding !== 's24' && coding !== 'f32')
      throw new RangeError('a plain WAV file of 16, 24 or 32 float bits is wanted');
    const { sampleRate, channels } = info;
    const frames = dataBytes / (bytesPerSample[coding] * channels);
    return { sampleRate, channels, frames, coding, dataStart, dataBytes };
  } finally {
    await source.close();
  }
}

async function writeAiff(wavPath: string, wav: PlainWav, path: string, run: Run): Promise<void> {
  const width = wav.coding === 's16' ? 2 : 3;
  const [from, to] = [await open(wavPath), await open(path, 'w')];
  try {
    await to.writeFile(aiffHeader(wav.sampleRate, wav.channels, wav.frames, width === 2 ? 16 : 24));
    const room = new Uint8Array(wav.channels * width * 65_536);
    for (let done = 0; done < wav.dataBytes; ) {
      run.signal?.throwIfAborted();
      const length = Math.min(room.length, wav.dataBytes - done);
      const { bytesRead } = await from.read(room, 0, length, wav.dataStart + done);
      if (bytesRead === 0) throw new RangeError('the sound ended early');
      const whole = bytesRead - (bytesRead % width);
      const bytes = room.subarray(0, whole);
      turnSamples(bytes, width);
      await to.writeFile(bytes);
      done += whole;
      run.progress?.(done / wav.dataBytes);
    }
    if (wav.dataBytes % 2 === 1) await to.writeFile(new Uint8Array(1));
    await to.sync();
  } finally {
    await from.close();
    await to.close();
  }
}

async function writeWithFfmpeg(
  wavPath: string,
  wav: PlainWav,
  path: string,
  target: Exclude<CodedTarget, { container: 'AIFF' }>,
  run: Run,
): Promise<void> {
  engine ??= WasmFfmpeg.open();
  const ffmpeg = await engine;
  const from = openSync(wavPath, 'r');
  const to = openSync(path, 'w');
  try {
    const raw = { s16: 's16le', s24: 's24le', f32: 'f32le' }[wav.coding];
    await ffmpeg.exec(
      [
        ...['-f', raw, '-ar', String(wav.sampleRate), '-ac', String(wav.channels), '-i', inputMark],
        ...encoding(target),
        // No versions and dates in the file.
        ...['-fflags', '+bitexact', '-flags:a', '+bitexact', '-map_metadata', '-1', outputMark],
      ],
      new FileBytes(from, wav.dataStart, wav.dataBytes),
      sinkInto(to),
      run,
    );
    fsyncSync(to);
  } finally {
    closeSync(from);
    closeSync(to);
  }
}

function encoding(target: Exclude<CodedTarget, { container: 'AIFF' }>): string[] {
  if (target.container === 'FLAC') return ['-c:a', 'flac', '-compression_level', flacLevel, '-f', 'flac'];
  const { lossy } = target;
  if (lossy.codec !== 'aac' && lossy.codec !== 'mp3')
    throw new RangeError(`${lossy.codec} has no place in ${target.container}`);
  const { encoder, encoderArgs } = ffmpegRecipe({ ...lossy, codec: lossy.codec });
  return [
    ...['-c:a', encoder, ...encoderArgs],
    // With what says how many samples the coding put before and after the sound.
    ...(target.container === 'MP3' ? ['-write_xing', '1', '-id3v2_version', '0'] : []),
    ...['-f', target.container === 'MP3' ? 'mp3' : 'ipod'],
  ];
}

/** Part of an open file, from first to last. */
class FileBytes implements ByteSource {
  readonly byteLength: number;
  readonly #fd: number;
  readonly #room = new Uint8Array(2 ** 18);
  #at: number;
  readonly #end: number;

  constructor(fd: number, start: number, byteLength: number) {
    this.#fd = fd;
    this.#at = start;
    this.#end = start + byteLength;
    this.byteLength = byteLength;
  }

  next(max: number): Uint8Array {
    const length = Math.min(max, this.#room.length, this.#end - this.#at);
    if (length <= 0) return this.#room.subarray(0, 0);
    const read = readSync(this.#fd, this.#room, 0, length, this.#at);
    this.#at += read;
    return this.#room.subarray(0, read);
  }
}

function sinkInto(fd: number): ByteSink {
  const pushAt = (bytes: Uint8Array, position: number): void => {
    for (let done = 0; done < bytes.length; )
      done += writeSync(fd, bytes, done, bytes.length - done, position + done);
  };
  return { push: (bytes) => pushAt(bytes, 0), pushAt };
}
