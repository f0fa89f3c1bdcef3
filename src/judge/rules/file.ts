import type { Rule } from '../rule.ts';
import { figure, withUnit } from '../wording.ts';

export const fileRules: readonly Rule[] = [
  {
    id: 'silence',
    unit: '',
    read: ({ measurement }) => (measurement.peak.samplePeakDbfs === null ? 1 : 0),
    wrong: 'above',
    bounds: [{ severity: 'mend', limit: 0, source: 'sound-present' }],
    step: 1,
    say: (_value, { measurement }) => ({
      title: 'Nothing but silence',
      detail: `All ${withUnit(measurement.seconds, 's')} of the file are digital silence.`,
      advice: 'Bounce again; a muted master bus or a wrong output is the usual cause.',
    }),
  },
  {
    id: 'very-short',
    unit: 's',
    read: ({ measurement }) => measurement.seconds,
    wrong: 'below',
    bounds: [{ severity: 'look', limit: 3, source: 'tech-3341' }],
    step: 1,
    say: (value) => ({
      title: 'Very short',
      detail: `The file lasts ${withUnit(value, 's', value < 0.1 ? 4 : 1)}; short-term loudness needs 3 s (EBU Tech 3341), so some figures are missing.`,
      advice: 'See whether the bounce was cut off.',
    }),
  },
  {
    id: 'low-sample-rate',
    unit: 'kHz',
    read: ({ file }) => file.sampleRate / 1000,
    wrong: 'below',
    bounds: [{ severity: 'look', limit: 44.1, source: 'iec-60908' }],
    step: 10,
    say: (value) => ({
      title: 'Low sample rate',
      detail: `At ${withUnit(value, 'kHz')} nothing above ${withUnit(value / 2, 'kHz')} can be heard; releases are made at 44.1 kHz or more.`,
      advice: 'Bounce again at the rate of the session.',
    }),
  },
  {
    id: 'low-bit-depth',
    unit: 'bit',
    read: ({ file }) => file.bitDepth,
    wrong: 'below',
    bounds: [
      { severity: 'mend', limit: 9, source: 'bit-depth' },
      { severity: 'look', limit: 16, source: 'bit-depth' },
    ],
    step: 4,
    say: (value) => ({
      title: 'Coarse samples',
      detail: `The file stores ${figure(value, 0)} bits a sample; its own noise will be heard in quiet places.`,
      advice: 'Bounce again at 24 bits.',
    }),
  },
  {
    id: 'single-channel',
    unit: '',
    read: ({ file }) => (file.channels === 1 ? 1 : 0),
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'channel-count' }],
    step: 1,
    say: () => ({
      title: 'One channel only',
      detail: 'The file is mono: the same sound will come from both sides.',
      advice: 'If the song was mixed in stereo, bounce again in stereo.',
    }),
  },
  {
    id: 'container-warnings',
    unit: '',
    read: ({ file }) => file.warnings.length,
    wrong: 'above',
    bounds: [{ severity: 'look', limit: 0, source: 'sound-present' }],
    step: 1,
    say: (_value, { file }) => ({
      title: 'The file’s header is not quite right',
      detail: file.warnings.join(' '),
      advice:
        'Other programs may refuse the file or read it differently; write it anew before you hand it over.',
    }),
  },
];
