import type { Rule } from '../rule.ts';
import { withUnit } from '../wording.ts';

export const dynamicsRules: readonly Rule[] = [
  {
    id: 'over-limited',
    unit: 'dB',
    read: ({ measurement }) => measurement.peak.plrDb,
    wrong: 'below',
    bounds: ({ plr }) => plr,
    step: 1,
    say: (value, { measurement }, severity) => ({
      title: severity === 'mend' ? 'Squeezed too hard' : 'Squeezed quite hard',
      detail:
        `Only ${withUnit(value, 'dB')} lie between the song’s loudness and its highest peak` +
        (measurement.loudness.integratedLufs === null
          ? ''
          : ` (${withUnit(measurement.loudness.integratedLufs, 'LUFS')} against ${withUnit(measurement.peak.truePeakDbtp ?? 0, 'dBTP')})`) +
        (severity === 'mend'
          ? '; drums have lost their hit and long listening tires.'
          : '; dense music is often left there, but little hit remains.'),
      advice:
        severity === 'mend'
          ? 'Take 2 to 4 dB off the limiter’s input. Players that level songs will make both versions equally loud, and this one will have its hits back.'
          : 'Compare at equal loudness with 2 dB less limiting and keep what sounds better.',
    }),
    fine: (value) => ({
      title: 'The hits are alive',
      detail: `${withUnit(value, 'dB')} lie between loudness and peak.`,
    }),
  },
];
