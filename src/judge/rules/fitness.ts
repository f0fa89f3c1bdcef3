import type { Facts } from '../facts.ts';
import type { Rule } from '../rule.ts';
import { clockTime, figure, size, withUnit } from '../wording.ts';
import { hasOvers } from './peaks.ts';

const fitnessOfMix = ({ kind, measurement }: Facts) => (kind === 'mix' ? measurement.fitness : null);

/** What a mix should bring to whoever finishes it. Silent for everything that is not a mix. */
export const fitnessRules: readonly Rule[] = [
  {
    id: 'mix-headroom',
    unit: 'dB',
    // Above full scale another rule speaks.
    read: (facts) => (hasOvers(facts) ? null : (fitnessOfMix(facts)?.headroomDb ?? null)),
    wrong: 'below',
    bounds: [{ severity: 'look', limit: 3, source: 'mix-room' }],
    step: 1,
    say: (value) => ({
      title: 'Little room above the mix',
      detail: `The highest peak comes within ${withUnit(Math.max(0, value), 'dB')} of full scale. Finishing needs none of it for loudness, but a bounce this hot is easily clipped on the way.`,
      advice: `Turn the bus down by ${size(Math.max(1, 6 - value), 'dB', 0)}, with nothing else changed, and bounce again.`,
    }),
    fine: (value) => ({
      title: 'Room above the mix',
      detail: `${withUnit(value, 'dB')} are free above the highest peak.`,
    }),
  },
  {
    id: 'mix-limited',
    unit: '%',
    read: (facts) => {
      const fitness = fitnessOfMix(facts);
      if (!fitness || fitness.busLimiting === null || fitness.nearTopShare === null) return null;
      return 100 * fitness.nearTopShare;
    },
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: 15, source: 'mix-limited' },
      { severity: 'look', limit: 2, source: 'mix-limited' },
    ],
    step: 15,
    say: (value, _facts, severity) => ({
      title: severity === 'mend' ? 'The mix has been limited hard' : 'The mix looks limited',
      detail: `${figure(value, value < 10 ? 1 : 0)} % of the loud moments end within 0.5 dB of one and the same level, as behind a limiter or a clipper; left alone, hardly any do.`,
      advice:
        severity === 'mend'
          ? 'Take the limiter (or clipper) off the mix bus and bounce again. If the sound depends on it, send both bounces.'
          : 'If a limiter sits on the mix bus only for loudness, bypass it and bounce again.',
    }),
    fine: () => ({ title: 'No limiter on the mix', detail: 'The peaks come singly, as played.' }),
  },
  {
    id: 'mix-noise',
    unit: 'dB',
    read: (facts) => fitnessOfMix(facts)?.loudnessOverNoiseDb ?? null,
    wrong: 'below',
    bounds: [{ severity: 'look', limit: 45, source: 'steady-noise' }],
    step: 6,
    say: (value, { measurement: { faults } }) => ({
      title: 'Noise in the mix',
      detail: `Where the music pauses, at ${clockTime(faults.noise.quietest?.startSeconds ?? 0)}, steady noise is left ${withUnit(value, 'dB')} under the loudness of the song; finishing brings it up.`,
      advice: 'Mute the tracks that do not play there, or clean the one that hisses, and bounce again.',
    }),
    spans: ({ measurement }) =>
      measurement.faults.noise.quietest ? [measurement.faults.noise.quietest] : [],
  },
];
