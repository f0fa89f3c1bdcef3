import type { Facts } from '../facts.ts';
import type { Profile } from '../profile.ts';
import type { Rule } from '../rule.ts';
import { count, sentenceCase, signed, size, withUnit } from '../wording.ts';

/** True when the file itself passes full scale between its samples by more than a reading error. */
export function hasOvers(facts: Facts): boolean {
  return (facts.measurement.peak.truePeakDbtp ?? -1) > 0.1;
}

/** Where a ceiling is well put: what the profile asks for, and never above −1 dBTP. */
function safeCeilingDbtp({ truePeak }: Profile): number {
  return Math.min(-1, truePeak[0]?.limit ?? -1);
}

function ceiling({ truePeak }: Profile): string {
  return withUnit(truePeak[0]?.limit ?? 0, 'dBTP');
}

export const peakRules: readonly Rule[] = [
  {
    id: 'intersample-overs',
    unit: 'dBTP',
    read: ({ measurement }) => measurement.peak.truePeakDbtp,
    wrong: 'above',
    bounds: [{ severity: 'mend', limit: 0, slack: 0.1, source: 'full-scale' }],
    step: 1,
    say: (value, { measurement: { peak } }, _severity, profile) => ({
      title: 'Peaks above full scale',
      detail:
        `Between its samples the waveform rises to ${signed(value, 'dBTP')}, ${size(value, 'dB')} more than a player can hold` +
        (peak.overCount > 0
          ? `; this happens ${peak.overCount === 1 ? 'once' : `${peak.overCount} times`}.`
          : '.'),
      advice: `Lower the limiter’s ceiling to ${withUnit(safeCeilingDbtp(profile), 'dBTP')} with its true-peak mode on, or turn the song down by ${size(value - safeCeilingDbtp(profile), 'dB')}.`,
    }),
    spans: ({ measurement }) => measurement.peak.overs,
  },
  {
    id: 'true-peak-room',
    unit: 'dBTP',
    read: (facts) => (hasOvers(facts) ? null : facts.measurement.peak.truePeakDbtp),
    wrong: 'above',
    bounds: ({ truePeak }) => truePeak,
    step: 0.5,
    say: (value, _facts, _severity, profile) => ({
      title: 'Little room above the peaks',
      detail: `The true peak (the highest point of the waveform, also between samples) is ${signed(value, 'dBTP')}; the limit is ${ceiling(profile)} (${profile.truePeakBy}), so that coding and conversion have room.`,
      advice: `Lower the ceiling by ${size(Math.max(0.1, value - (profile.truePeak[0]?.limit ?? 0)), 'dB')}; nobody will hear the difference in level.`,
    }),
    fine: (value, _facts, profile) => ({
      title: 'Room above the peaks',
      detail: `The true peak is ${withUnit(value, 'dBTP')}; the limit is ${ceiling(profile)} (${profile.truePeakBy}).`,
    }),
  },
  {
    id: 'clipped-runs',
    unit: 'runs',
    read: ({ measurement }) => measurement.peak.clippedRunCount,
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: 20, source: 'clipped-runs' },
      { severity: 'look', limit: 0, source: 'clipped-runs' },
    ],
    step: 40,
    say: (value, _facts, severity) => ({
      title: severity === 'mend' ? 'Tops cut off' : 'A few flat tops',
      detail: `${sentenceCase(count(value, 'time'))} the waveform stays flat at its highest level for three samples or more, as if cut off with scissors.`,
      advice:
        severity === 'mend'
          ? 'Look for a stage that clips: an overloaded bus, a plug-in driven too hard or a bounce without a limiter. Turn down before it and bounce again.'
          : 'Listen to these places; if nothing crackles, leave them.',
    }),
    spans: ({ measurement }) => measurement.peak.clippedRuns,
  },
];
