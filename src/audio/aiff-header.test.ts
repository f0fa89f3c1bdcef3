import { expect, test } from 'vitest';
import { readAiffHeader } from './aiff-header.ts';
import { memorySource } from './byte-source.ts';
import { readPcmBlocks } from './pcm-blocks.ts';

/** An AIFF-C file of one channel whose sound chunk comes before its format, with an offset before the samples. */
function aiffc(type: string, bits: number, sound: readonly number[], rate: readonly number[]): Uint8Array {
  const comm = Buffer.from([0, 1, 0, 0, 0, 1, 0, bits, ...rate, ...Buffer.from(`${type}\0\0`, 'latin1')]);
  const ssnd = Buffer.from([0, 0, 0, 4, 0, 0, 0, 0, 9, 9, 9, 9, ...sound]);
  const chunk = (id: string, body: Buffer) => {
    const size = Buffer.alloc(4);
    size.writeUInt32BE(body.length);
    return Buffer.concat([Buffer.from(id), size, body, Buffer.alloc(body.length % 2)]);
  };
  return new Uint8Array(
    Buffer.concat([Buffer.from('FORM\0\0\0\0AIFC'), chunk('SSND', ssnd), chunk('COMM', comm)]),
  );
}

// 80-bit extended: 44,100 Hz as in the AIFF 1.3 appendix; 384,000 and 22,254.545... Hz worked out by hand.
const rates = {
  44100: [0x40, 0x0e, 0xac, 0x44, 0, 0, 0, 0, 0, 0],
  384000: [0x40, 0x11, 0xbb, 0x80, 0, 0, 0, 0, 0, 0],
  22255: [0x40, 0x0d, 0xad, 0xdd, 0x17, 0x45, 0xd1, 0x74, 0x5d, 0x17],
} as const;

test.each([
  ['in24', 24, [0xc0, 0, 1], -0.5 + 2 ** -23],
  ['42ni', 24, [1, 0, 0xc0], -0.5 + 2 ** -23],
  ['in32', 32, [0xc0, 0, 1, 0], -0.5 + 2 ** -23],
  ['23ni', 32, [0, 1, 0, 0xc0], -0.5 + 2 ** -23],
  ['raw ', 8, [64], -0.5],
  ['twos', 16, [0xc0, 0], -0.5],
  ['sowt', 16, [0, 0xc0], -0.5],
  ['NONE', 12, [0xc0, 0x10], -0.5 + 2 ** -11],
  ['FL32', 32, [0xbf, 0, 0, 0], -0.5],
  ['fl64', 64, [0xbf, 0xe0, 0, 0, 0, 0, 0, 0], -0.5],
] as const)('%s of %i bits', async (type, bits, sound, value) => {
  const source = memorySource('a.aiff', aiffc(type, bits, sound, rates[44100]));
  const layout = await readAiffHeader(source);
  expect(layout.info).toMatchObject({
    sampleRate: 44100,
    channels: 1,
    bitDepth: bits,
    frames: 1,
    warnings: [],
  });
  const block = (await readPcmBlocks(source, layout).next()).value;
  expect(block?.channels[0][0]).toBe(value);
});

test.each(Object.entries(rates))('a rate of %s Hz', async (hertz, bytes) => {
  const layout = await readAiffHeader(memorySource('a.aiff', aiffc('twos', 16, [0, 0], bytes)));
  expect(layout.info.sampleRate).toBe(Number(hertz));
});

test('a coding that is not read here is named', async () => {
  const file = memorySource('a.aiff', aiffc('ima4', 16, [0, 0], rates[44100]));
  await expect(readAiffHeader(file)).rejects.toThrow(/“a\.aiff” .*“ima4”/);
});
