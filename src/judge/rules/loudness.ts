import type { LoudnessAim, Profile } from '../profile.ts';
import type { Bound, Rule } from '../rule.ts';
import { figure, size, withUnit } from '../wording.ts';

type Side = 'above' | 'below';

/** The end of what an aim still takes, LUFS. */
function edge({ targetLufs, louderLu, quieterLu }: LoudnessAim, side: Side): number {
  return side === 'above' ? targetLufs + louderLu : targetLufs - quieterLu;
}

const boundAt =
  (by: LoudnessAim['by'], side: Side) =>
  ({ loudness }: Profile): Bound[] =>
    loudness?.by !== by
      ? []
      : [{ severity: loudness.severity, limit: edge(loudness, side), source: loudness.source }];

/** How near is near enough, for a sentence: '−23.0 LUFS, 0.2 LU either way'. */
function aimText({ targetLufs, louderLu, quieterLu }: LoudnessAim): string {
  const target = withUnit(targetLufs, 'LUFS');
  if (louderLu === quieterLu) return `${target}, ${figure(louderLu)} LU either way`;
  return `${withUnit(targetLufs - quieterLu, 'LUFS')} to ${withUnit(targetLufs + louderLu, 'LUFS')}`;
}

const target = (profile: Profile): number => profile.loudness?.targetLufs ?? 0;

/** How the level is put right, and what that does to the peaks. */
function turnBy(change: number, truePeakDbtp: number | null, profile: Profile): string {
  const turn = `Turn the whole file ${change > 0 ? 'up' : 'down'} by ${size(change, 'dB')}; nothing else about it needs to change.`;
  const ceilingDbtp = profile.truePeak[0]?.limit ?? 0;
  const peak = truePeakDbtp === null ? null : truePeakDbtp + change;
  return change > 0 && peak !== null && peak > ceilingDbtp
    ? `Turned up by ${size(change, 'dB')} its peaks would reach ${withUnit(peak, 'dBTP')}: limit it gently, or ask whether a quieter file is taken.`
    : turn;
}

export const loudnessRules: readonly Rule[] = [
  {
    id: 'turned-down',
    unit: 'LUFS',
    read: ({ measurement }) => measurement.loudness.integratedLufs,
    wrong: 'above',
    bounds: boundAt('player', 'above'),
    step: 3,
    say: (value, _facts, _severity, profile) => ({
      title: 'Will be turned down',
      detail: `The song is at ${withUnit(value, 'LUFS')} (loudness over its whole length). A service that plays songs at ${withUnit(target(profile), 'LUFS', 0)}, as AES TD1008 advises, will turn it down by ${size(value - target(profile), 'dB')}.`,
      advice:
        'Being louder wins nothing there. Keep this level only if you like how it sounds next to a quieter version at equal loudness.',
    }),
    // The quiet side is told by the next rule.
    fine: (value, _facts, { loudness }) =>
      loudness === null || value < edge(loudness, 'below')
        ? null
        : {
            title: 'A sensible loudness',
            detail: `${withUnit(value, 'LUFS')}; a service at ${withUnit(loudness.targetLufs, 'LUFS', 0)} ${value > loudness.targetLufs ? 'will turn it down' : 'may turn it up'} by ${size(value - loudness.targetLufs, 'dB')}.`,
          },
  },
  {
    id: 'turned-up',
    unit: 'LUFS',
    read: ({ measurement }) => measurement.loudness.integratedLufs,
    wrong: 'below',
    bounds: boundAt('player', 'below'),
    step: 3,
    say: (value, _facts, _severity, profile) => ({
      title: 'Quieter than other songs',
      detail: `The song is at ${withUnit(value, 'LUFS')} (loudness over its whole length). A service that plays songs at ${withUnit(target(profile), 'LUFS', 0)} would turn it up by ${size(value - target(profile), 'dB')}, and one that never turns up will play it quieter than its neighbours.`,
      advice: 'If this is the finished master, check that this is meant. If it is a mix, all is well.',
    }),
  },
  {
    id: 'too-loud-for-delivery',
    unit: 'LUFS',
    read: ({ measurement }) => measurement.loudness.integratedLufs,
    wrong: 'above',
    bounds: boundAt('delivery', 'above'),
    step: 3,
    say: (value, { measurement }, _severity, profile) => ({
      title: 'Louder than it may be delivered',
      detail: `The song is at ${withUnit(value, 'LUFS')} (loudness over its whole length); ${profile.name} takes ${profile.loudness ? aimText(profile.loudness) : ''}.`,
      advice: turnBy(target(profile) - value, measurement.peak.truePeakDbtp, profile),
    }),
    // The quiet side is told by the next rule.
    fine: (value, _facts, { loudness }) =>
      loudness === null || value < edge(loudness, 'below')
        ? null
        : {
            title: 'At the loudness asked for',
            detail: `${withUnit(value, 'LUFS')}, where ${aimText(loudness)} is asked for.`,
          },
  },
  {
    id: 'too-quiet-for-delivery',
    unit: 'LUFS',
    read: ({ measurement }) => measurement.loudness.integratedLufs,
    wrong: 'below',
    bounds: boundAt('delivery', 'below'),
    step: 3,
    say: (value, { measurement }, _severity, profile) => ({
      title: 'Quieter than it may be delivered',
      detail: `The song is at ${withUnit(value, 'LUFS')} (loudness over its whole length); ${profile.name} takes ${profile.loudness ? aimText(profile.loudness) : ''}.`,
      advice: turnBy(target(profile) - value, measurement.peak.truePeakDbtp, profile),
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
