import type { Rule } from '../rule.ts';
import { size, withUnit } from '../wording.ts';

/** AES TD1008: where a song played on its own is put, LUFS. */
const songTargetLufs = -16;
/** Distance from it that is worth a sentence, LU (heuristic, 'loudness-distance'). */
const worthKnowingLu = 6;

export const loudnessRules: readonly Rule[] = [
  {
    id: 'turned-down',
    unit: 'LUFS',
    read: ({ measurement }) => measurement.loudness.integratedLufs,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: songTargetLufs + worthKnowingLu, source: 'aes-td-1008' }],
    step: 3,
    say: (value) => ({
      title: 'Will be turned down',
      detail: `The song is at ${withUnit(value, 'LUFS')} (loudness over its whole length). A service that plays songs at ${withUnit(songTargetLufs, 'LUFS', 0)}, as AES TD1008 advises, will turn it down by ${size(value - songTargetLufs, 'dB')}.`,
      advice:
        'Being louder wins nothing there. Keep this level only if you like how it sounds next to a quieter version at equal loudness.',
    }),
    // The quiet side is told by the next rule.
    fine: (value) =>
      value < songTargetLufs - worthKnowingLu
        ? null
        : {
            title: 'A sensible loudness',
            detail: `${withUnit(value, 'LUFS')}; a service at ${withUnit(songTargetLufs, 'LUFS', 0)} ${value > songTargetLufs ? 'will turn it down' : 'may turn it up'} by ${size(value - songTargetLufs, 'dB')}.`,
          },
  },
  {
    id: 'turned-up',
    unit: 'LUFS',
    read: ({ measurement }) => measurement.loudness.integratedLufs,
    wrong: 'below',
    bounds: [{ severity: 'look', limit: songTargetLufs - worthKnowingLu, source: 'aes-td-1008' }],
    step: 3,
    say: (value) => ({
      title: 'Quieter than other songs',
      detail: `The song is at ${withUnit(value, 'LUFS')} (loudness over its whole length). A service that plays songs at ${withUnit(songTargetLufs, 'LUFS', 0)} would turn it up by ${size(value - songTargetLufs, 'dB')}, and one that never turns up will play it quieter than its neighbours.`,
      advice: 'If this is the finished master, check that this is meant. If it is a mix, all is well.',
    }),
  },
  {
    id: 'quiet-file',
    unit: 'dBFS',
    read: ({ measurement }) => measurement.peak.samplePeakDbfs,
    wrong: 'below',
    bounds: [{ severity: 'look', limit: -18, source: 'quiet-file' }],
    step: 6,
    say: (value) => ({
      title: 'A very quiet file',
      detail: `Its highest sample is at ${withUnit(value, 'dBFS')}, ${size(value, 'dB')} under what the file could hold.`,
      advice: 'See whether a fader or the bounce was left down.',
    }),
  },
];
