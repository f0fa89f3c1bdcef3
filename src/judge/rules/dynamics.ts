import type { Rule } from '../rule.ts';
import { figure, withUnit } from '../wording.ts';

/** Fewer flat tops than this are chance (heuristic, 'flat-tops'). */
const fewTops = 5;

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
  {
    id: 'flat-tops',
    unit: 'a minute',
    // Runs of equal samples are told by 'clipped-runs'; a handful of tops is chance.
    read: ({ measurement: { dynamics, peak, seconds } }) =>
      peak.clippedRunCount > 0
        ? null
        : dynamics.flatTopCount < fewTops
          ? 0
          : (60 * dynamics.flatTopCount) / Math.max(seconds, 1),
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 10, source: 'flat-tops' }],
    step: 50,
    say: (value, { measurement: { dynamics } }) => ({
      title: 'Rounded-off tops',
      detail: `${dynamics.flatTopCount} of the highest peaks, ${figure(value, 0)} a minute, are pressed flat, as saturation or a clipper that was turned down afterwards leaves them.`,
      advice:
        'If that warmth is meant, leave it. Otherwise look for a stage that is driven too hard: turning down after it does not bring the tops back.',
    }),
    spans: ({ measurement }) => measurement.dynamics.flatTops,
  },
];
