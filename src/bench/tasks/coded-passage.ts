import { CodedError } from '../../audio/coded-error.ts';
import type { EngineChoice } from '../../audio/files/lossy/engine.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import { writeWav } from '../../audio/files/write-sound.ts';
import { frameCount, joinPcm, type Pcm, slicePcm } from '../../audio/pcm.ts';
import { partOfRun } from '../../audio/run.ts';
import { codeChain, cutGrid } from '../../survive/code-chain.ts';
import type { LossyFormat } from '../../survive/round-trip-result.ts';
import type { Task } from './task.ts';
import { threadEngine } from './thread-engine.ts';

export interface CodedPassageOptions {
  readonly format: LossyFormat;
  readonly engine: EngineChoice;
  readonly startSeconds: number;
  readonly seconds: number;
  /** Where the file is written. */
  readonly outPath: string;
}

export interface CodedPassageMade {
  /** Channels of the sound; the file has twice as many: the original's, then the decoded sound's. */
  readonly channels: number;
}

/** Sound coded before and after the passage, so that the encoder is on its way when the passage begins (heuristic). */
const beforeSeconds = 3;
const afterSeconds = 0.5;

/**
 * Codes a passage with what lies around it and writes it, before and after and laid over each other, into one WAV of
 * floats at the rate coded. Because an encoder spreads its bits over the whole song, the passage can come out a little
 * otherwise than in the whole. A passage that begins after the end is REQUEST_INVALID; one that ends there is shortened.
 */
export const codedPassageTask: Task<CodedPassageOptions, CodedPassageMade> = {
  name: 'coded-passage',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ files: [file], options }, run) {
    const { format, startSeconds, seconds } = options;
    const sound = await openSound(file.path, run);
    try {
      const { sampleRate } = sound.info;
      const start = Math.round(startSeconds * sampleRate);
      const end = Math.round((startSeconds + seconds) * sampleRate);
      // On the codec's own grid; at odd rates, where that is coarser than what lies before, anywhere.
      const grid = cutGrid(format, sampleRate) < sampleRate ? cutGrid(format, sampleRate) : 1;
      const from = Math.floor(Math.max(0, start - beforeSeconds * sampleRate) / grid) * grid;
      const to = end + Math.round(afterSeconds * sampleRate);
      const pcm = await readPart(sound.blocks({ signal: run.signal }), from, to);
      if (!pcm || frameCount(pcm) <= start - from)
        throw new CodedError('REQUEST_INVALID', 'The passage begins after the end of the sound.');
      run.progress?.(0.3);
      const coded = await codeChain(pcm, format, threadEngine(options.engine), partOfRun(run, 0.3, 0.9));
      const atCodedRate = (frame: number): number =>
        Math.round(((frame - from) * coded.sent.sampleRate) / sampleRate);
      const cut = (whole: Pcm): readonly Float32Array[] =>
        slicePcm(whole, atCodedRate(start), Math.min(atCodedRate(end), frameCount(coded.sent))).channels;
      const both: Pcm = {
        sampleRate: coded.sent.sampleRate,
        channels: [...cut(coded.sent), ...cut(coded.decoded)],
      };
      await writeWav(options.outPath, both, { sampleFormat: 'f32' });
      return { channels: pcm.channels.length };
    } finally {
      await sound.close();
    }
  },
};

/** Frames [from, to) of a sound, fewer at its end; null when it ends before `from`. */
async function readPart(blocks: AsyncGenerator<Pcm>, from: number, to: number): Promise<Pcm | null> {
  const parts: Pcm[] = [];
  let at = 0;
  for await (const block of blocks) {
    const frames = frameCount(block);
    if (at + frames > from) parts.push(slicePcm(block, Math.max(0, from - at), Math.max(0, to - at)));
    at += frames;
    if (at >= to) break;
  }
  return parts.length > 0 ? joinPcm(parts) : null;
}
