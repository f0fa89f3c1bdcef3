import { spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { checkReportSchema } from '../../src/judge/file-report.ts';
import { outside } from '../outside.ts';
import { everyroom, root } from './cli-run.ts';
import { sine, songLikeNoise, wavBytes, writeWavFile } from './cli-sounds.ts';

const folder = mkdtempSync(join(tmpdir(), 'cli-bad-'));
const good = join(folder, 'good.wav');
const env = { EVERYROOM_HOME: join(folder, 'home') };

beforeAll(() => {
  spawnSync(process.execPath, ['scripts/build.mjs', 'kernels', 'engine', 'program'], { cwd: root });
  writeWavFile(good, songLikeNoise(1, 0.5));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const noise = wavBytes(songLikeNoise(1, 0.5), { format: 'int16' });
const withSample = (value: number) => {
  const samples = songLikeNoise(1, 0.5);
  samples[1000] = value;
  return wavBytes(samples);
};

/** Name, bytes (null: a folder), code. */
const unreadable: [string, Buffer | string | null, string][] = [
  ['empty.wav', Buffer.alloc(0), 'FILE_EMPTY'],
  ['words.wav', 'Dear diary, this is not a sound.\n'.repeat(50), 'SOUND_NOT_RECOGNISED'],
  ['headless.wav', noise.subarray(0, 30), 'SOUND_TRUNCATED'],
  ['no-samples.wav', wavBytes([]), 'SOUND_NO_SAMPLES'],
  ['nan.wav', withSample(Number.NaN), 'SOUND_NOT_NUMBERS'],
  ['infinite.wav', withSample(Number.POSITIVE_INFINITY), 'SOUND_NOT_NUMBERS'],
  ['strange-codec.wav', wavBytes(songLikeNoise(1, 0.5), { tag: 0x0270 }), 'SOUND_CODEC_UNKNOWN'],
  ['folder.wav', null, 'FILE_IS_DIRECTORY'],
];

describe('each bad file is named in one sentence with its code, and the others are checked', () => {
  test.each(unreadable)('%s', async (name, bytes, code) => {
    const path = join(folder, name);
    if (bytes === null) mkdirSync(path);
    else writeFileSync(path, bytes);
    const json = await everyroom(['check', '--json', '--no-lossy', path, good], { env });
    const { files, failed } = checkReportSchema.parse(JSON.parse(json.stdout));
    expect(failed).toEqual([{ name, code, message: expect.stringContaining(name) }]);
    expect(files.map((report) => report.file.name)).toEqual(['good.wav']);
    expect(json.code).toBe(2);
    const said = json.stderr.split('\n').filter((line) => line.includes(`(${code})`));
    expect(said).toEqual([`${failed[0].message} (${code})`]);
    expect(json.stderr).not.toMatch(/^\s+at |node:internal|Error:/m);
    // One sentence on what is wrong, at most one more on what to do.
    expect(failed[0].message).toMatch(/^[^\n]{10,240}[.!?]$/);
  });

  test('a file that does not exist', async () => {
    const { code, stderr } = await everyroom(['check', join(folder, 'gone.wav')], { env });
    expect(code).toBe(2);
    expect(stderr).toMatch(/^“gone\.wav” [^\n]+ \(FILE_NOT_FOUND\)$/m);
  });

  test('all of them at once: none is lost, in the order given', async () => {
    const paths = unreadable.map(([name]) => join(folder, name));
    const { stdout, code } = await everyroom(['check', '--json', '--no-lossy', ...paths, good], { env });
    const { files, failed } = checkReportSchema.parse(JSON.parse(stdout));
    expect(failed.map((failure) => failure.code)).toEqual(unreadable.map(([, , expected]) => expected));
    expect(files).toHaveLength(1);
    expect(code).toBe(2);
  });
});

// Permissions bind everyone but root; root can run the program as somebody else.
const asNobody = process.getuid?.() === 0 ? 65_534 : undefined;
const nobodyCan =
  process.getuid !== undefined &&
  spawnSync(process.execPath, [join(root, 'dist/src/cli/main.js'), '--version'], { uid: asNobody }).status ===
    0;
if (!nobodyCan)
  process.stderr.write('left out: the check of a file without permission, which needs another user\n');

test.skipIf(!nobodyCan)('a file without permission', async () => {
  const path = writeWavFile(join(folder, 'secret.wav'), songLikeNoise(1, 0.5));
  chmodSync(folder, 0o755);
  chmodSync(path, 0o000);
  const home = join(tmpdir(), `nobody-${process.pid}`);
  try {
    const { code, stderr, stdout } = await everyroom(['check', '--no-lossy', path, good], {
      uid: asNobody,
      env: { EVERYROOM_HOME: home },
    });
    expect(code).toBe(2);
    expect(stderr).toMatch(/^“secret\.wav” [^\n]+ \(FILE_NO_PERMISSION\)$/m);
    expect(stdout).toContain('good.wav');
  } finally {
    rmSync(home, { recursive: true, force: true });
  }
});

describe('odd but readable files are checked', () => {
  const read = async (path: string, ...args: string[]) => {
    const ran = await everyroom(['check', '--json', ...args, path], { env });
    const { files, failed } = checkReportSchema.parse(JSON.parse(ran.stdout));
    expect(failed).toEqual([]);
    return files[0];
  };

  test('a file cut off in the middle: what is there is measured, and the header is complained of', async () => {
    const path = join(folder, 'cut.wav');
    writeFileSync(path, noise.subarray(0, 44 + 2 * 2 * 30_001 + 3));
    const report = await read(path, '--no-lossy');
    expect(report.file.frames).toBe(30_001);
    expect(report.file.warnings).not.toEqual([]);
    expect(report.findings.map((finding) => finding.id)).toContain('container-warnings');
  });

  test.each([
    ['too large', 0x7000_0000],
    ['zero, as a recorder leaves it that lost power', 0],
    ['unknown, as a stream writes it', 0xffff_ffff],
  ])('a header whose data size is %s', async (what, dataBytes) => {
    const path = writeWavFile(join(folder, `size-${what.length}.wav`), songLikeNoise(1, 0.5), { dataBytes });
    expect((await read(path, '--no-lossy')).file.frames).toBe(44_100);
  });

  test('8 channels at 384 kHz, with the lossy formats told that they cannot carry it or carrying it', async () => {
    const path = writeWavFile(join(folder, 'wide.wav'), sine(997, 1, 0.25, 8, 384_000), {
      channels: 8,
      sampleRate: 384_000,
    });
    const report = await read(path);
    expect(report.file).toMatchObject({ channels: 8, sampleRate: 384_000, frames: 384_000 });
    expect(report.lossy.length + report.lossyFailed.length).toBe(6);
    for (const failure of report.lossyFailed) {
      expect(failure.code).toBe('CODEC_UNSUITABLE');
      expect(failure.reason).toMatch(/^[^\n]+\.$/);
    }
  });

  const ffmpeg = outside('ffmpeg');
  test.skipIf(!ffmpeg)('an MP3 is read, and its being lossy is worth a look', async () => {
    const path = join(folder, 'coded.mp3');
    spawnSync(ffmpeg ?? '', ['-v', 'error', '-y', '-i', good, '-b:a', '192k', path]);
    expect(readFileSync(path).length).toBeGreaterThan(1000);
    const report = await read(path, '--no-lossy');
    expect(report.file.codec).toBe('MP3');
    expect(report.findings.map((finding) => finding.id)).toContain('lossy-source');
  });
});
