import { alwaysFollows, type PartKind } from './part.ts';

const rateFields = {
  hertz: {
    kind: 'choice',
    label: 'rate',
    choices: ['as it is', '44100', '48000', '88200', '96000', '176400', '192000'] as const,
    default: 'as it is',
  },
} as const;

/**
 * Sample rate converter: src/signal/resampler.ts (flat to 0.9 of half the lower rate, 150 dB down from half of it). The
 * parts after it work at the new rate. While a chain is played live it passes everything: the device has its own rate.
 */
export const rate: PartKind<typeof rateFields> = {
  id: 'rate',
  name: 'the rate converter',
  fields: rateFields,
  isNeutral: ({ hertz }) => hertz === 'as it is',
  canFollow: alwaysFollows,
  prepare: () => ({ latencySamples: 0, tailSamples: 0, process() {}, set() {}, reset() {} }),
};
