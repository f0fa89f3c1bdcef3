import { pcmAtRate } from '../../audio/at-rate.ts';
import { CodedError } from '../../audio/coded-error.ts';
import { readSound } from '../../audio/files/read-sound.ts';
import { durationSeconds, frameCount, type Pcm } from '../../audio/pcm.ts';
import { partOfRun, type Run } from '../../audio/run.ts';
import type { Measured } from '../../judge/measured-report.ts';
import { measuredByReference, measuredBySweep } from '../../judge/measured-words.ts';
import { figure } from '../../judge/wording.ts';
import type { Curve } from '../../places/place.ts';
import { measureWithReference } from '../../places/reference-measure.ts';
import { planSweep } from '../../places/sweep.ts';
import { measureSweep } from '../../places/sweep-measure.ts';
import { instantiateKernels } from '../../signal/kernels.ts';
import type { Task } from './task.ts';

export interface MeasurePlaceOptions {
  readonly microphone: Curve | null;
  /** Length of the main sweep, s; null: `usualSweepSeconds` are tried. */
  readonly sweepSeconds: number | null;
  readonly sweepToHz: number;
}

/** Lengths that are tried when none is named, the usual one first. */
const usualSweepSeconds = [10, 5, 20] as const;
/** So clearly no sweep of another length is found (heuristic: in the quiet a wrong one reaches 45, the right one 57 and more). */
const plainlyFoundDb = 50;
/** Longest recording of a sweep, s, and most samples of one channel that are worked on at once. */
const longestSeconds = 300;
const mostFrames = 2 ** 25;

/** Measures a place from a recording of a sweep, or, with a second file, of that song playing there. */
export const measurePlaceTask: Task<MeasurePlaceOptions, Measured> = {
  name: 'measure-place',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ files: [recording, reference], options }, run) {
    const { pcm } = await readSound(recording.path, partOfRun(run, 0, 0.2));
    const seconds = durationSeconds(pcm);
    if (seconds > longestSeconds || frameCount(pcm) > mostFrames)
      throw new CodedError(
        'SOUND_TOO_LONG',
        `The recording takes ${figure(seconds / 60)} minutes; cut it to the ${longestSeconds / 60} around what was played.`,
      );
    if (isSilent(pcm)) throw new CodedError('SIGNAL_NOT_FOUND', 'The recording is silent.');
    if (!reference) return bySweep(pcm, options, partOfRun(run, 0.2, 1));
    const { pcm: song } = await readSound(reference.path, partOfRun(run, 0.2, 0.4));
    const found = measureWithReference(
      instantiateKernels(),
      pcm,
      pcmAtRate(song, pcm.sampleRate),
      options.microphone,
    );
    if (!found)
      throw new CodedError(
        'SIGNAL_NOT_FOUND',
        'That song is not heard in the recording. Record at least ten seconds of it, louder than what is around.',
      );
    return measuredByReference(found);
  },
};

function bySweep(
  recording: Pcm,
  { microphone, sweepSeconds, sweepToHz }: MeasurePlaceOptions,
  run: Run,
): Measured {
  const lengths = sweepSeconds === null ? usualSweepSeconds : [sweepSeconds];
  let best: Measured | null = null;
  for (const [i, seconds] of lengths.entries()) {
    const found = measureSweep(recording, planSweep({ seconds, toHz: sweepToHz }), microphone);
    run.progress?.((i + 1) / lengths.length);
    if (!found || (best && best.foundDb >= found.foundDb)) continue;
    best = measuredBySweep(found, seconds);
    if (found.foundDb >= plainlyFoundDb) break;
  }
  if (best) return best;
  const tried = lengths.map((length) => figure(length, Number.isInteger(length) ? 0 : 1)).join(', ');
  const shortest = planSweep({ seconds: Math.min(...lengths) }).seconds;
  const recorded = durationSeconds(recording);
  throw new CodedError(
    'SIGNAL_NOT_FOUND',
    recorded < shortest
      ? `The recording lasts ${figure(recorded)} s, less than the signal (${figure(shortest)} s); record all of it.`
      : `No sweep of ${tried} s is heard in the recording. Say how long yours was, play it louder, or record nearer.`,
  );
}

function isSilent({ channels }: Pcm): boolean {
  return channels.every((channel) => channel.every((sample) => sample === 0));
}
