import type { Facts } from '../facts.ts';
import type { Rule } from '../rule.ts';
import { count, sentenceCase, signed, size, withUnit } from '../wording.ts';

/** True when the file itself passes full scale between its samples by more than a reading error. */
export function hasOvers(facts: Facts): boolean {
  return (facts.measurement.peak.truePeakDbtp ?? -1) > 0.1;
}

export const peakRules: readonly Rule[] = [
  {
    id: 'intersample-overs',
    unit: 'dBTP',
    read: ({ measurement }) => measurement.peak.truePeakDbtp,
    wrong: 'above',
    bounds: [{ severity: 'mend', limit: 0, slack: 0.1, source: 'full-scale' }],
    step: 1,
    say: (value, { measurement: { peak } }) => ({
      title: 'Peaks above full scale',
      detail:
        `Between its samples the waveform rises to ${signed(value, 'dBTP')}, ${size(value, 'dB')} more than a player can hold` +
        (peak.overCount > 0
          ? `; this happens ${peak.overCount === 1 ? 'once' : `${peak.overCount} times`}.`
          : '.'),
      advice: `Lower the limiter’s ceiling to −1.0 dBTP with its true-peak mode on, or turn the song down by ${size(value + 1, 'dB')}.`,
    }),
    spans: ({ measurement }) => measurement.peak.overs,
  },
  {
    id: 'true-peak-room',
    unit: 'dBTP',
    read: (facts) => (hasOvers(facts) ? null : facts.measurement.peak.truePeakDbtp),
    wrong: 'above',
    bounds: [{ severity: 'look', limit: -1, slack: 0.1, source: 'ebu-r-128' }],
    step: 0.5,
    say: (value) => ({
      title: 'Little room above the peaks',
      detail: `The true peak (the highest point of the waveform, also between samples) is ${signed(value, 'dBTP')}; EBU R 128 and AES TD1008 ask for −1.0 dBTP at most, so that coding and conversion have room.`,
      advice: `Lower the ceiling by ${size(value + 1, 'dB')}; nobody will hear the difference in level.`,
    }),
    fine: (value) => ({
      title: 'Room above the peaks',
      detail: `The true peak is ${withUnit(value, 'dBTP')}, at or below the usual −1.0 dBTP.`,
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
