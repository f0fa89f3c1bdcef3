import { expect, test } from 'vitest';
import { addPart, emptyChain } from '../finish/chain.ts';
import { type PartKindId, partKinds } from '../finish/kinds.ts';
import { takeOver } from '../finish/take-over.ts';
import { partWords } from './part-words.ts';

const words = (kind: PartKindId, settings: object = {}) =>
  partWords(addPart(emptyChain, kind, settings).parts[0]);

test('a part says what it does, and that it does nothing as it comes', () => {
  expect(partKinds.map(({ id }) => words(id))).toEqual([
    'Changes nothing yet',
    'Off',
    'No band yet',
    'Changes nothing yet',
    'Changes nothing yet',
    'Changes nothing yet',
    'Changes nothing yet',
    'As it is',
    'Changes nothing yet',
    'No true peak above −1.0 dBTP',
    'Off',
  ]);
  expect(words('trim', { gainDb: -2, polarity: 'turned' })).toBe('−2.0 dB; polarity turned');
  expect(
    words('equaliser', {
      bands: [
        { hertz: 230, gainDb: -2.1, q: 0.7 },
        { shape: 'low-cut', hertz: 28, slope: '24' },
        { hertz: 3400, gainDb: 1, q: 3, on: 'side', phase: 'linear' },
      ],
    }),
  ).toBe(
    '2.1 dB less around 230 Hz, broad; nothing below 28 Hz (24 dB an octave); 1.0 dB more around 3.4 kHz, narrow, side only, linear phase',
  );
  expect(words('compressor', { ratio: 2, thresholdDbfs: -18, on: 'mid', mixPercent: 50 })).toBe(
    'On the mid 2.0:1 above −18.0 dBFS, 50 % mixed in',
  );
  expect(words('dither', { bits: '16', shaper: 'improved-e-9' })).toBe(
    'To 16 bits; triangular noise; shaped (improved-e-9)',
  );
});

test('what is taken over stands where its kind usually does', () => {
  const before = addPart(addPart(addPart(emptyChain, 'trim'), 'equaliser'), 'limiter');
  const taken = takeOver(before, {
    bands: [{ gainDb: 1 }],
    parts: [
      { kind: 'width', settings: { highPercent: 120 } },
      { kind: 'sub-filter', settings: { hertz: 25 } },
    ],
  });
  expect(taken.parts.map(({ id }) => id)).toEqual([
    'trim-1',
    'sub-filter-1',
    'equaliser-1',
    'equaliser-2',
    'width-1',
    'limiter-1',
  ]);
  expect(takeOver(before, { bands: [], parts: [] })).toEqual(before);
});
