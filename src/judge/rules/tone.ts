import type { Facts } from '../facts.ts';
import type { Rule } from '../rule.ts';
import { figure, size } from '../wording.ts';

/** Power below 120 Hz against 120 Hz to 2 kHz, dB. */
function bassToMiddleDb({ measurement: { tone } }: Facts): number | null {
  return tone.lowDb === null || tone.midDb === null ? null : tone.lowDb - tone.midDb;
}

const share = (levelDb: number) => `${figure(100 * 10 ** (levelDb / 10), 0)} %`;

/** Bounds of the balance, dB of bass over middle, and of the slope, dB per octave: heuristics, see 'tone-heuristic'. */
const bassy = { mend: 8, look: 6 };
const thin = { mend: -20, look: -13 };
const slope = { dull: -9, bright: 0 };

export const toneRules: readonly Rule[] = [
  {
    id: 'too-bassy',
    unit: 'dB',
    read: bassToMiddleDb,
    wrong: 'above',
    bounds: [
      { severity: 'mend', limit: bassy.mend, source: 'tone-heuristic' },
      { severity: 'look', limit: bassy.look, source: 'tone-heuristic' },
    ],
    step: 2,
    say: (value, { measurement }, severity) => ({
      title: severity === 'mend' ? 'Too much bass' : 'A lot of bass',
      detail: `${share(measurement.tone.lowDb ?? 0)} of the song’s power lies below 120 Hz, ${size(value, 'dB')} more than between 120 Hz and 2 kHz. In a car it will boom, on a phone the rest will sound far away.`,
      advice: `Lower everything below about 120 Hz by ${size(Math.max(1, Math.min(6, value - bassy.look + 1)), 'dB', 0)} and compare at equal loudness with a record you know.`,
    }),
    // The thin side is told by the next rule.
    fine: (value) =>
      value < thin.look
        ? null
        : {
            title: 'Bass and middle in balance',
            detail: `The bass carries ${size(value, 'dB')} ${value >= 0 ? 'more' : 'less'} power than the middle.`,
          },
  },
  {
    id: 'too-thin',
    unit: 'dB',
    read: bassToMiddleDb,
    wrong: 'below',
    bounds: [
      { severity: 'mend', limit: thin.mend, source: 'tone-heuristic' },
      { severity: 'look', limit: thin.look, source: 'tone-heuristic' },
    ],
    step: 3,
    say: (value, { measurement }, severity) => ({
      title: severity === 'mend' ? 'Hardly any bass' : 'Thin at the bottom',
      detail: `Only ${share(measurement.tone.lowDb ?? -99)} of the song’s power lies below 120 Hz, ${size(value, 'dB')} less than between 120 Hz and 2 kHz.`,
      advice:
        'If kick or bass should carry the song, look for a high-pass filter that was left on, and compare with a record you know.',
    }),
  },
  {
    id: 'too-dull',
    unit: 'dB/octave',
    read: ({ measurement }) => measurement.tone.tiltDbPerOctave,
    wrong: 'below',
    bounds: [{ severity: 'look', limit: slope.dull, source: 'tone-heuristic' }],
    step: 1,
    say: (value) => ({
      title: 'Dark sound',
      detail: `From 100 Hz to 10 kHz the spectrum falls by ${size(value, 'dB')} an octave, more steeply than most records.`,
      advice: 'Compare with a record you know; a gentle lift above 3 kHz may open it.',
    }),
  },
  {
    id: 'too-bright',
    unit: 'dB/octave',
    read: ({ measurement }) => measurement.tone.tiltDbPerOctave,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: slope.bright, source: 'tone-heuristic' }],
    step: 1,
    say: (value) => ({
      title: 'Bright sound',
      detail: `From 100 Hz to 10 kHz the spectrum rises by ${size(value, 'dB')} an octave, where records fall; it is brighter than pink noise and may tire on earbuds.`,
      advice: 'Listen for sharp s-sounds and cymbals; a gentle cut above 3 kHz may calm them.',
    }),
  },
];
