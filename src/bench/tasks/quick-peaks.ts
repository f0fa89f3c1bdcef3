import type { EngineChoice } from '../../audio/files/lossy/engine.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import { type QuickPeaks, quickPeaks } from '../../survive/estimate.ts';
import type { LossyFormat } from '../../survive/round-trip-result.ts';
import type { Task } from './task.ts';
import { threadEngine } from './thread-engine.ts';

export interface QuickPeaksOptions {
  readonly formats: readonly LossyFormat[];
  readonly engine: EngineChoice;
}

/** The quick answer: the passages likeliest to go over, coded in several formats. */
export const quickPeaksTask: Task<QuickPeaksOptions, QuickPeaks> = {
  name: 'quick-peaks',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ files: [file], options: { formats, engine } }, run) {
    const sound = await openSound(file.path, run);
    try {
      const { sampleRate, channels, frames } = sound.info;
      const blocks = () => sound.blocks({ signal: run.signal });
      return await quickPeaks({ sampleRate, channels, frames, blocks }, formats, threadEngine(engine), run);
    } finally {
      await sound.close();
    }
  },
};
