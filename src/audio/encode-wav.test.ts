import { expect, test } from 'vitest';
import { wavHeader } from './encode-wav.ts';
import { readWavHeader } from './wav-header.ts';

/** A file of which only the beginning exists; the rest is a size. */
function sparse(head: Uint8Array, size: number) {
  return {
    name: 'long.wav',
    size,
    read: async (position: number, length: number) => head.slice(position, position + length),
  };
}

test.each([
  [1, 's16', 44],
  [2, 's24', 44],
  [2, 'f32', 58],
  [6, 's24', 80],
] as const)('%i channels of %s need %i bytes of header', (channels, coding, bytes) => {
  expect(wavHeader(48000, channels, 1000, coding).length).toBe(bytes);
});

test('three hours of 96 kHz float are RF64 with the true size', async () => {
  const frames = 3 * 3600 * 96_000;
  const head = wavHeader(96_000, 2, frames, 'f32');
  const layout = await readWavHeader(sparse(head, head.length + frames * 8));
  expect(layout.info).toMatchObject({ container: 'RF64', frames, sampleRate: 96_000, warnings: [] });
  expect(layout.dataStart).toBe(head.length);
});

test('RF64 begins where a 32-bit size ends', () => {
  const largest = Math.floor((0xffffffff - 36) / 4);
  const kind = (frames: number) => Buffer.from(wavHeader(44100, 2, frames, 's16')).toString('latin1', 0, 4);
  expect(kind(largest)).toBe('RIFF');
  expect(kind(largest + 1)).toBe('RF64');
});

test('a plain WAV over 4 GiB, its size wrapped, is read to its end', async () => {
  const frames = 2 ** 31;
  const head = wavHeader(48_000, 2, 1000, 's16');
  new DataView(head.buffer).setUint32(40, (frames * 4) % 2 ** 32, true);
  // The wrapped size is 0 here; sound, not a chunk, follows.
  const layout = await readWavHeader(
    sparse(new Uint8Array([...head, ...new Uint8Array(8)]), head.length + frames * 4),
  );
  expect(layout.info.frames).toBe(frames);
  new DataView(head.buffer).setUint32(40, 4000, true);
  const wrapped = await readWavHeader(sparse(head, head.length + 2 ** 32 + 4000 + 26));
  expect(wrapped.info.frames).toBe((2 ** 32 + 4000) / 4);
  expect(wrapped.info.warnings).toHaveLength(1);
});
