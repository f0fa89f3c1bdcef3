import fc from 'fast-check';
import { expect, test } from 'vitest';
import { bytesPerSample, decodeSamples, type SampleCoding } from './sample-coding.ts';
import { SampleUnpacker } from './sample-unpacker.ts';

const codings: SampleCoding[] = ['u8', 's8', 's16', 's24', 's32', 'f32'];

test('takes blocks apart exactly as the plain reader does', () => {
  fc.assert(
    fc.property(
      fc.constantFrom(...codings),
      fc.integer({ min: 1, max: 6 }),
      fc.boolean(),
      fc.array(fc.uint8Array({ maxLength: 300 }), { minLength: 1, maxLength: 3 }),
      (coding, channels, littleEndian, blocks) => {
        const frames = 300;
        const info = {
          container: 'WAV',
          codec: 'PCM',
          sampleRate: 48_000,
          channels,
          bitDepth: 8 * bytesPerSample[coding],
          frames,
          warnings: [],
        };
        const layout = { info, coding, littleEndian, dataStart: 0, dataBytes: 300 };
        const unpacker = new SampleUnpacker(layout, frames);
        // One after the other: nothing may be left of the block before.
        for (const bytes of blocks)
          expect(unpacker.unpack(bytes)).toEqual(decodeSamples(bytes, coding, channels, littleEndian));
      },
    ),
    { seed: 24, numRuns: 400 },
  );
});
