import { type OpenSound, openSound } from '../../audio/files/open-sound.ts';
import type { Run } from '../../audio/run.ts';
import type { SoundInfo, SoundTags } from '../../audio/sound-info.ts';
import type { SoundFormat } from '../../measure/lane.ts';
import { joinLanes, measureLevels, measureSound, measureSpectra } from '../../measure/measure-sound.ts';
import type { Measurement } from '../../measure/measurement.ts';
import type { Task, TaskInput } from './task.ts';

export interface Measured {
  readonly info: SoundInfo;
  readonly tags: SoundTags;
  readonly measurement: Measurement;
}

type Input = TaskInput<Record<string, never>>;
type Measure<Part> = (
  blocks: ReturnType<OpenSound['lentBlocks']>,
  format: SoundFormat,
  run: Run,
) => Promise<Part>;

/** Opens the file and sends it through. */
async function measured<Part>({ files: [file] }: Input, run: Run, measure: Measure<Part>) {
  const sound = await openSound(file.path, run);
  try {
    const part = await measure(sound.lentBlocks({ signal: run.signal }), sound.info, run);
    return { part, sound };
  } finally {
    await sound.close();
  }
}

async function levelsAndInfo(input: Input, run: Run) {
  const { part, sound } = await measured(input, run, measureLevels);
  return { levels: part, info: sound.info };
}

async function spectraAndTags(input: Input, run: Run) {
  const { part, sound } = await measured(input, run, measureSpectra);
  return { spectra: part, tags: await sound.tags() };
}

/** Opens one file and measures it block by block. Two threads do it in half the time, each reading the file. */
export const measureTask: Task<Record<string, never>, Measured> = {
  name: 'measure',
  version: 4,
  timeLimitSeconds: 30 * 60,
  async run(input, run) {
    const { part, sound } = await measured(input, run, measureSound);
    return { info: sound.info, tags: await sound.tags(), measurement: part };
  },
  lanes: {
    run: [levelsAndInfo, spectraAndTags],
    join(parts) {
      const [{ levels, info }, { spectra, tags }] = parts as [
        Awaited<ReturnType<typeof levelsAndInfo>>,
        Awaited<ReturnType<typeof spectraAndTags>>,
      ];
      return { info, tags, measurement: joinLanes(info, levels, spectra) };
    },
  },
};
