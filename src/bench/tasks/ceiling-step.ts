import { openSound } from '../../audio/files/open-sound.ts';
import type { Chain } from '../../finish/chain.ts';
import { driveOf } from '../../finish/finish-plan.ts';
import { GainReduction, type Reduction } from '../../finish/gain-reduction.ts';
import { renderChain } from '../../finish/render.ts';
import { StretchPairs } from '../../finish/stretches.ts';
import { SoundLevelMeter } from '../../measure/sound-levels.ts';
import { metered } from './finish-head.ts';
import type { Task } from './task.ts';

export interface CeilingStepOptions {
  readonly name: string;
  /** The limiter alone. */
  readonly limiting: Chain;
  /** What comes after it, without rounding. */
  readonly rest: Chain;
}

export interface CeilingStepFigures {
  readonly integratedLufs: number | null;
  readonly reduction: Reduction;
}

const stretchFrames = 4096;

/** How loud a sound is after a limiter at one ceiling, and how far it turned down. The file is of the limiter's rate. */
export const ceilingStepTask: Task<CeilingStepOptions, CeilingStepFigures> = {
  name: 'ceiling-step',
  version: 1,
  timeLimitSeconds: 60 * 60,
  async run({ files: [file], options: { name, limiting, rest } }, run) {
    const sound = await openSound(file.path, run);
    try {
      const { sampleRate, channels, frames } = sound.info;
      const about = { name, frames: frames ?? 0 };
      const reduction = new GainReduction(sampleRate, 10 ** (driveOf(limiting) / 20));
      const pairs = new StretchPairs(stretchFrames, channels, (before, after) =>
        reduction.take(before, after, before[0].length),
      );
      const meter = new SoundLevelMeter(sampleRate, channels, false);
      const before = metered(sound.blocks({ signal: run.signal }), {
        push: (block) => pairs.pushBefore(block),
      });
      const after = metered(renderChain(limiting, before, about, run), {
        push: (block) => pairs.pushAfter(block),
      });
      for await (const block of renderChain(rest, after, about, { signal: run.signal })) meter.push(block);
      pairs.finish();
      return { integratedLufs: meter.finish().integratedLufs, reduction: reduction.finish() };
    } finally {
      await sound.close();
    }
  },
};
