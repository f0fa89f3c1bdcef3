import type { EngineChoice } from '../../audio/files/lossy/engine.ts';
import type { LossyFormat } from '../../survive/round-trip-result.ts';
import { type FormatFigures, surviveFormat } from '../../survive/survive-format.ts';
import type { Task } from './task.ts';
import { threadEngine } from './thread-engine.ts';
import { withSound } from './thread-sound.ts';

export interface SurviveFormatOptions {
  readonly format: LossyFormat;
  /** Which engine may code; part of the key a result is kept under, because it is named in the result. */
  readonly engine: EngineChoice;
  /** The file's own figures, as measured; null for silence. */
  readonly truePeakDbtp: number | null;
  readonly integratedLufs: number | null;
}

/** Codes one file in one format, or two in series, and says all that is said of it. Long files go in pieces. */
export const surviveFormatTask: Task<SurviveFormatOptions, FormatFigures> = {
  name: 'survive-format',
  version: 2,
  timeLimitSeconds: 60 * 60,
  async run({ files: [file], options }, run) {
    return withSound(file, run, (sound, part) =>
      surviveFormat(
        { ...sound, blocks: sound.blocks() },
        options.format,
        threadEngine(options.engine),
        options,
        part,
      ),
    );
  },
};
