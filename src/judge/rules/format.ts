import type { Profile } from '../profile.ts';
import type { Rule } from '../rule.ts';
import { figure, list } from '../wording.ts';

const kilohertz = (hertz: number): string => `${Number((hertz / 1000).toFixed(3))} kHz`;

function takenText<T>(taken: readonly T[], write: (value: T) => string): string {
  return list(taken.map(write)).replace(' and ', ' or ');
}

/** 1 when the profile names what it takes and the file is something else. */
function outside(taken: readonly number[] | null, value: number | null): number | null {
  return taken === null || value === null ? null : taken.includes(value) ? 0 : 1;
}

const asked = ({ format }: Profile, taken: readonly number[] | null) =>
  taken === null ? [] : [{ severity: format.severity, limit: 0, source: format.source }];

/** Rules for profiles that name the sample rates and bit depths they take. */
export const formatRules: readonly Rule[] = [
  {
    id: 'wrong-sample-rate',
    unit: '',
    read: ({ file }, profile) => outside(profile.sampleRatesHz, file.sampleRate),
    wrong: 'above',
    bounds: (profile) => asked(profile, profile.sampleRatesHz),
    step: 1,
    say: (_value, { file }, _severity, { name, sampleRatesHz }) => ({
      title: 'Wrong sample rate',
      detail: `The file is at ${kilohertz(file.sampleRate)}; ${name} takes ${takenText(sampleRatesHz ?? [], kilohertz)}.`,
      advice:
        'Convert the sample rate once, as the last step before the bit depth, and check the peaks again.',
    }),
  },
  {
    id: 'wrong-bit-depth',
    unit: '',
    read: ({ file }, profile) => outside(profile.bitDepths, file.bitDepth),
    wrong: 'above',
    bounds: (profile) => asked(profile, profile.bitDepths),
    step: 1,
    say: (_value, { file }, _severity, { name, bitDepths }) => ({
      title: 'Wrong bit depth',
      detail: `The file stores ${figure(file.bitDepth ?? 0, 0)} bits a sample; ${name} takes ${takenText(bitDepths ?? [], (bits) => String(bits))}.`,
      advice:
        (file.bitDepth ?? 0) > Math.max(...(bitDepths ?? [0]))
          ? 'Go down to it as the very last step, with dither.'
          : 'Bounce again from the session at that depth; adding empty bits to this file mends nothing.',
    }),
  },
];
