import { describe, expect, test } from 'vitest';
import { CodedError } from '../audio/coded-error.ts';
import { type CodeAtCeiling, findCeiling } from './find-ceiling.ts';
import { findFormat } from './formats.ts';

const [aac, mp3, opus] = ['aac-96', 'mp3-128', 'opus-128'].map((id) => findFormat(id)!);
const question = (decoded: Record<string, number | null>) => ({
  limitDbtp: 0,
  truePeakDbtp: 0.2,
  atOnce: 2,
  rows: [aac, mp3, opus].map((format) => ({ format, decodedDbtp: decoded[format.id] })),
});
const growth: Record<string, number> = { 'aac-96': 1.3, 'mp3-128': 0.6, 'opus-128': -0.5 };
const smooth: CodeAtCeiling = async (format, downDb) => growth[format.id] - downDb;

describe('findCeiling', () => {
  test('the greediest format decides, and every format has been coded at the answer', async () => {
    const found = await findCeiling(question(growth), smooth);
    expect(found).toMatchObject({
      trimDb: 1.3,
      carefulTrimDb: 1.3,
      decidedBy: 'AAC 96',
      verified: true,
      failed: [],
    });
    expect(found.ceilingDbtp).toBeCloseTo(-1.1, 9);
    for (const { points } of found.formats) expect(points.map(({ trimDb }) => trimDb)).toContain(1.3);
    expect(found.formats.map(({ trimDb }) => trimDb)).toEqual([1.3, 0.6, 0]);
  });

  test('a format that held lower down but fails at the common level raises it', async () => {
    // MP3 holds at 0.6 and jumps up between 1.2 and 1.5.
    const jumping: CodeAtCeiling = async (format, downDb) =>
      format === mp3 && downDb > 1.2 && downDb < 1.5 ? 0.2 : growth[format.id] - downDb;
    const found = await findCeiling(question(growth), jumping);
    expect(found.verified).toBe(true);
    expect(found.trimDb).toBeGreaterThanOrEqual(1.5);
    expect(found.decidedBy).toBe('MP3 128');
    for (const { verifiedDbtp } of found.formats) expect(verifiedDbtp).toBeLessThanOrEqual(0.001);
  });

  test('nothing over: no trim, no encode, nobody decides', async () => {
    const never: CodeAtCeiling = async () => expect.unreachable();
    const found = await findCeiling(question({ 'aac-96': -0.1, 'mp3-128': 0, 'opus-128': null }), never);
    expect(found).toMatchObject({ trimDb: 0, decidedBy: null, verified: true, encodes: 3 });
  });

  test('a format that breaks is named, the others are answered, and nothing is called verified', async () => {
    const breaking: CodeAtCeiling = async (format, downDb) => {
      if (format === mp3) throw new CodedError('JOB_CRASHED', 'The worker died.');
      return growth[format.id] - downDb;
    };
    const found = await findCeiling(question(growth), breaking);
    expect(found).toMatchObject({ trimDb: 1.3, verified: false });
    expect(found.failed).toEqual([
      { formatId: 'mp3-128', format: 'MP3 128', code: 'JOB_CRASHED', reason: 'The worker died.' },
    ]);
    expect(found.formats.map(({ formatId }) => formatId)).toEqual(['aac-96', 'opus-128']);
  });

  test('peaks that never come down end the search, unverified', async () => {
    const found = await findCeiling(question(growth), async () => 0.5);
    expect(found.verified).toBe(false);
  });

  test('a fault of ours is not a format’s', async () => {
    const faulty: CodeAtCeiling = async () => {
      throw new TypeError('ours');
    };
    await expect(findCeiling(question(growth), faulty)).rejects.toThrow(TypeError);
  });
});
