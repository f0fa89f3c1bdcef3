import type { EngineChoice } from '../../audio/files/lossy/engine.ts';
import { wholePeak } from '../../survive/coded-peak.ts';
import type { LossyFormat } from '../../survive/round-trip-result.ts';
import type { Task } from './task.ts';
import { threadEngine } from './thread-engine.ts';
import { withSound } from './thread-sound.ts';

export interface CodedPeakOptions {
  readonly format: LossyFormat;
  readonly engine: EngineChoice;
  /** How far the file is turned down before, dB. */
  readonly trimDb: number;
}

/** One real encode of a ceiling search: the true peak after decoding. */
export const codedPeakTask: Task<CodedPeakOptions, { readonly truePeakDbtp: number | null }> = {
  name: 'coded-peak',
  version: 2,
  timeLimitSeconds: 60 * 60,
  async run({ files: [file], options: { format, engine, trimDb } }, run) {
    return withSound(file, run, async (sound, part) => ({
      truePeakDbtp: await wholePeak(
        { ...sound, blocks: sound.blocks() },
        trimDb,
        format,
        threadEngine(engine),
        part,
      ),
    }));
  },
};
