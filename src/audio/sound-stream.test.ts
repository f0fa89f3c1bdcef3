import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { memorySource } from './byte-source.ts';
import { CodedError } from './coded-error.ts';
import { wavHeader } from './encode-wav.ts';
import { joinPcm, type Pcm } from './pcm.ts';
import { encodeSamples, type WrittenCoding } from './sample-coding.ts';
import { openSoundStream } from './sound-stream.ts';

const rate = 1000;

function ramp(frames: number, channels = 1): Float32Array[] {
  return Array.from({ length: channels }, (_, c) =>
    Float32Array.from({ length: frames }, (_, i) => ((i + c) % 100) / 128),
  );
}

function wav(samples: Float32Array[], coding: WrittenCoding = 's16', sampleRate = rate): Uint8Array {
  return bytes(
    wavHeader(sampleRate, samples.length, samples[0].length, coding),
    encodeSamples(samples, coding, 0, samples[0].length),
  );
}

/** Joins text, numbers as 32-bit little-endian, and bytes. */
function bytes(...parts: readonly (string | number | Uint8Array)[]): Uint8Array {
  return new Uint8Array(
    Buffer.concat(
      parts.map((part) => {
        if (typeof part === 'string') return Buffer.from(part, 'latin1');
        if (typeof part !== 'number') return Buffer.from(part);
        const four = Buffer.alloc(4);
        four.writeUInt32LE(part);
        return four;
      }),
    ),
  );
}

async function read(file: Uint8Array) {
  const stream = await openSoundStream(memorySource('take.wav', file));
  const blocks: Pcm[] = [];
  for await (const block of stream.blocks()) blocks.push(block);
  return { info: stream.info, pcm: joinPcm(blocks) };
}

async function refusal(file: Uint8Array): Promise<CodedError> {
  const error = await read(file).then(
    () => null,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(CodedError);
  return error as CodedError;
}

const format = bytes('fmt ', 16, Uint8Array.of(1, 0, 1, 0), rate, rate * 2, Uint8Array.of(2, 0, 16, 0));
const two = Uint8Array.of(0, 64, 0, 192); // 0.5, -0.5

describe('headers that are wrong or unusual', () => {
  test('a size of zero or all ones means: to the end of the file', async () => {
    for (const size of [0, 0xffffffff]) {
      const { info, pcm } = await read(bytes('RIFF', size, 'WAVE', format, 'data', size, two));
      expect(pcm.channels[0]).toEqual(Float32Array.of(0.5, -0.5));
      expect(info.frames).toBe(2);
      expect(info.warnings).toHaveLength(1);
    }
  });

  test('a promise that the file does not keep is read as far as it goes, and said', async () => {
    const whole = wav(ramp(2000));
    const { info, pcm } = await read(whole.slice(0, 44 + 2 * 1500 + 1));
    expect(pcm.channels[0]).toEqual(ramp(2000)[0].slice(0, 1500));
    expect(info.frames).toBe(1500);
    expect(info.warnings[0]).toBe('The header promises 2.000 s, the file holds 1.500 s.');
  });

  test('chunks before, between and after, odd ones with and without their pad byte', async () => {
    const odd = bytes('JUNK', 3, 'abc');
    const padded = bytes('LIST', 3, 'abc\0');
    const file = bytes('RIFF', 0, 'WAVE', padded, odd, format, padded, 'data', 4, two, 'LIST', 4, 'tail');
    const { info, pcm } = await read(file);
    expect(pcm.channels[0]).toEqual(Float32Array.of(0.5, -0.5));
    expect(info.warnings).toEqual([]);
  });

  test('an ID3v2 tag before the header is passed over', async () => {
    const { pcm } = await read(bytes('ID3\x04\0\0\0\0\0\x05hello', wav(ramp(10))));
    expect(pcm.channels[0]).toEqual(ramp(10)[0]);
  });

  test('valid bits are told, the stored width sets the scale', async () => {
    const guid = Uint8Array.of(1, 0, 0, 0, 0, 0, 16, 0, 128, 0, 0, 170, 0, 56, 155, 113);
    const extensible = bytes(
      'fmt ',
      40,
      Uint8Array.of(0xfe, 0xff, 1, 0),
      rate,
      rate * 3,
      Uint8Array.of(3, 0, 24, 0, 22, 0, 20, 0),
      0,
      guid,
    );
    const { info, pcm } = await read(
      bytes('RIFF', 0, 'WAVE', extensible, 'data', 3, Uint8Array.of(0x10, 0, 0x40), 0),
    );
    expect(info.bitDepth).toBe(20);
    expect(pcm.channels[0][0]).toBe(0.5 + 16 / 8388608);
  });

  test('RF64 takes its size from ds64', async () => {
    const ds64 = bytes('ds64', 28, 0, 0, 4, 0, 2, 0, 0);
    const { info, pcm } = await read(
      bytes('RF64', 0xffffffff, 'WAVE', ds64, format, 'data', 0xffffffff, two, 'tail after the sound'),
    );
    expect(info.container).toBe('RF64');
    expect(pcm.channels[0]).toEqual(Float32Array.of(0.5, -0.5));
    expect(info.warnings).toEqual([]);
  });

  test.each([1, 8, 24, 64])('%i channels', async (channels) => {
    const { info, pcm } = await read(wav(ramp(7, channels), 's24'));
    expect(info.channels).toBe(channels);
    expect(pcm.channels).toEqual(ramp(7, channels));
  });

  test('one sample, and 384 kHz', async () => {
    expect((await read(wav([Float32Array.of(0.5)]))).info.frames).toBe(1);
    expect((await read(wav(ramp(5), 'f32', 384_000))).info.sampleRate).toBe(384_000);
  });
});

describe('what cannot be read is refused in one sentence with a code', () => {
  test.each([
    ['text', bytes('Dear all, here is the final mix. Cheers!'), 'SOUND_NOT_RECOGNISED'],
    ['zeros', new Uint8Array(5000), 'SOUND_NOT_RECOGNISED'],
    ['one byte', Uint8Array.of(7), 'SOUND_NOT_RECOGNISED'],
    ['a header with no samples', wav([new Float32Array(0)]), 'SOUND_NO_SAMPLES'],
    ['a header cut short', wav(ramp(10)).slice(0, 30), 'SOUND_TRUNCATED'],
    ['a header and nothing of its sound', wav(ramp(10)).slice(0, 44), 'SOUND_TRUNCATED'],
    ['65 channels', wav(ramp(2, 65)), 'SOUND_TOO_MANY_CHANNELS'],
    ['a rate of 0 Hz', wav(ramp(2), 's16', 0), 'SOUND_RATE_UNSUPPORTED'],
    ['a rate of 2 MHz', wav(ramp(2), 's16', 2_000_000), 'SOUND_RATE_UNSUPPORTED'],
    ['another coding', patched(wav(ramp(2)), 20, [0x61, 0x01]), 'SOUND_CODEC_UNKNOWN'],
    ['a depth of 64 bits', patched(wav(ramp(2)), 32, [8, 0, 64, 0]), 'SOUND_CODEC_UNKNOWN'],
    ['no channels', patched(wav(ramp(2)), 22, [0, 0]), 'SOUND_DAMAGED'],
  ] as const)('%s', async (_, file, code) => {
    const error = await refusal(file);
    expect(error.code).toBe(code);
    expect(error.message).toContain('“take.wav”');
    expect(error.message).not.toContain('\n');
  });

  test.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])(
    '%d among the samples, with its place',
    async (value) => {
      const samples = ramp(70_000, 2);
      samples[1][69_500] = value;
      const error = await refusal(wav(samples, 'f32'));
      expect(error.code).toBe('SOUND_NOT_NUMBERS');
      expect(error.message).toContain('at 69.500000 s in channel 2');
    },
  );
});

function patched(file: Uint8Array, at: number, values: readonly number[]): Uint8Array {
  const copy = file.slice();
  copy.set(values, at);
  return copy;
}

describe('any bytes at all', () => {
  const outcome = async (file: Uint8Array) => {
    let most = 0;
    const source = memorySource('take.wav', file);
    const counted = {
      ...source,
      read: (position: number, length: number) => {
        most = Math.max(most, Math.min(length, file.length - position));
        return source.read(position, length);
      },
    };
    let samples = 0;
    try {
      const stream = await openSoundStream(counted);
      for await (const block of stream.blocks())
        for (const channel of block.channels) samples += channel.length;
    } catch (error) {
      expect(error).toBeInstanceOf(CodedError);
    }
    return { most, samples };
  };

  test('give sound or a CodedError, never more samples than there are bytes', async () => {
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ maxLength: 400 }), async (file) => {
        expect((await outcome(file)).samples).toBeLessThanOrEqual(file.length);
      }),
    );
  });

  test('changed in a good header likewise', async () => {
    const good = wav(ramp(50, 2), 's24');
    const change = fc.tuple(
      fc.nat({ max: 59 }),
      fc.oneof(fc.constantFrom(0, 1, 127, 128, 255), fc.nat({ max: 255 })),
    );
    await fc.assert(
      fc.asyncProperty(
        fc.array(change, { maxLength: 8 }),
        fc.nat({ max: good.length }),
        async (changes, cut) => {
          const file = good.slice(0, good.length - (cut % 5 ? 0 : cut));
          for (const [at, value] of changes) if (at < file.length) file[at] = value;
          const { most, samples } = await outcome(file);
          expect(samples).toBeLessThanOrEqual(file.length);
          expect(most).toBeLessThanOrEqual(file.length);
        },
      ),
      { numRuns: 500 },
    );
  });
});
