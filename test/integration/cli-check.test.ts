import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { stripVTControlCharacters } from 'node:util';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type CheckReport, checkReportSchema } from '../../src/judge/file-report.ts';
import { everyroom, type RunOptions, root } from './cli-run.ts';
import { sine, songLikeNoise, writeWavFile } from './cli-sounds.ts';

const folder = mkdtempSync(join(tmpdir(), 'cli-check-'));
const home = join(folder, 'home');
const file = (name: string) => join(folder, name);
const good = file('good.wav');
const hot = file('hot.wav');
const tone = file('tone.wav');

const check = (args: string[], options: RunOptions = {}) =>
  everyroom(['check', ...args], { ...options, env: { EVERYROOM_HOME: home, ...options.env } });

async function checkJson(args: string[]): Promise<CheckReport & { code: number | null }> {
  const { stdout, code } = await check(['--json', ...args]);
  return { ...checkReportSchema.strict().parse(JSON.parse(stdout)), code };
}

beforeAll(() => {
  spawnSync(process.execPath, ['scripts/build.mjs', 'kernels', 'engine', 'program'], { cwd: root });
  writeWavFile(good, songLikeNoise(4, 0.7));
  writeWavFile(hot, songLikeNoise(4, 1.5));
  writeWavFile(tone, sine(997, 5, 0.999, 1, 48_000), { channels: 1, sampleRate: 48_000, format: 'int16' });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('figures', () => {
  test('a full-scale 997 Hz sine in one channel is -3.01 LUFS (ITU-R BS.1770-5 Annex 1) and 0.0 dBTP', async () => {
    const { files } = await checkJson([tone, '--no-lossy']);
    expect(files[0].loudness.integratedLufs).toBeCloseTo(-3.02, 1);
    expect(files[0].peak.truePeakDbtp).toBeCloseTo(20 * Math.log10(0.999), 1);
    expect(files[0].peak.crestDb).toBeCloseTo(3.01, 1);
    expect(files[0].file).toMatchObject({
      name: 'tone.wav',
      container: 'WAV',
      codec: 'PCM',
      sampleRate: 48_000,
      channels: 1,
      bitDepth: 16,
      frames: 240_000,
      seconds: 5,
    });
    expect(files[0].file.sha256).toMatch(/^[0-9a-f]{64}$/);
  });

  test('the lossy round trips are named with encoder, settings and true bit rate', async () => {
    const { files } = await checkJson([good]);
    expect(files[0].lossyFailed).toEqual([]);
    expect(files[0].lossy.map((trip) => trip.format)).toEqual([
      'AAC 128',
      'AAC 256',
      'MP3 128',
      'MP3 320',
      'Vorbis 160',
      'Opus 128',
    ]);
    for (const trip of files[0].lossy) {
      expect(trip.encoder).not.toBe('');
      expect(trip.settings).not.toBe('');
      expect(trip.actualKbps).toBeGreaterThan(32);
      expect(trip.growthDb).toBeCloseTo((trip.truePeakDbtp ?? 0) - (files[0].peak.truePeakDbtp ?? 0), 6);
    }
  });

  test('what was kept and what is measured afresh are the same, to the last digit', async () => {
    const fresh = await check(['--json', '--no-lossy', '--fresh', good]);
    const first = await check(['--json', '--no-lossy', good]);
    const kept = await check(['--json', '--no-lossy', good]);
    expect(first.stdout).toBe(fresh.stdout);
    expect(kept.stdout).toBe(fresh.stdout);
  });

  test('JSON holds one object and neither NaN nor an infinity, also for silence and a single sample', async () => {
    const silence = writeWavFile(file('silence.wav'), new Float32Array(88_200), { format: 'int16' });
    const single = writeWavFile(file('single.wav'), [0.5, -0.5]);
    const { stdout, code } = await check(['--json', silence, single]);
    expect(stdout).not.toMatch(/NaN|Infinity/);
    const { files } = checkReportSchema.parse(JSON.parse(stdout));
    expect(files.map((f) => f.loudness.integratedLufs)).toEqual([null, null]);
    expect(files[0].findings[0]).toMatchObject({ id: 'silence', severity: 'mend' });
    expect(files[1].file.frames).toBe(1);
    expect(code).toBe(1);
  });
});

describe('exit codes', () => {
  test('0 when there is nothing to mend, 1 when there is, 2 when a file could not be read', async () => {
    const missing = file('missing.wav');
    expect((await check(['--no-lossy', good])).code).toBe(0);
    expect((await check(['--no-lossy', good, hot])).code).toBe(1);
    expect((await check(['--no-lossy', good, missing])).code).toBe(2);
    expect((await check(['--no-lossy', missing, hot])).code).toBe(2);
  });

  test.each([
    [['check'], 'missing required argument'],
    [['chek', 'x.wav'], 'Did you mean check?'],
    [['check', 'x.wav', '--loud'], 'unknown option'],
    [['serve', '--port', 'x'], 'A port is a number'],
    [[], 'no command given'],
  ])('2 and a sentence when the command is not understood: %j', async (args, sentence) => {
    const { code, stdout, stderr } = await everyroom(args);
    expect(code).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toContain(sentence);
    expect(stderr).toContain('(USAGE)');
    expect(stderr).not.toMatch(/^\s+at /m);
  });

  test('Ctrl-C stops at once: 130, no result, no file left behind', async () => {
    const long = writeWavFile(file('long.wav'), songLikeNoise(60, 0.7), { format: 'int16' });
    const temporary = file('temporary');
    mkdirSync(temporary);
    const out = file('stopped.html');
    const ran = await check([long, '--html', out, '--fresh'], {
      interruptWith: 'SIGINT',
      env: { TMPDIR: temporary },
    });
    expect(ran.code).toBe(130);
    expect(ran.stdout).toBe('');
    expect(existsSync(out)).toBe(false);
    expect(readdirSync(temporary).filter((name) => name.startsWith('task-'))).toEqual([]);
  });
});

describe('text for people', () => {
  test('heading, headline, findings with shape and word, figures in a column, a line for the lot', async () => {
    const { stdout, stderr } = await check([hot, good]);
    expect(stdout).toMatch(
      /^hot\.wav\nWAV, PCM float, 32 bit, 44\.1 kHz, stereo, 0:04\.0\nheld against: Streaming \(--profile streaming\)\n\n\w+ things? to mend before/,
    );
    expect(stdout).toMatch(/^◆ mend {2}Peaks above full scale$/m);
    expect(stdout).toContain('Two files: one with something to mend.');
    expect(stdout).not.toContain('\u001b');
    expect(stdout).not.toMatch(/[ \t]$/m);
    expect(stdout).not.toMatch(/NaN|Infinity|undefined|null/);
    for (const line of stdout.split('\n').filter((text) => !/kb\/s/.test(text)))
      expect(line.length).toBeLessThanOrEqual(80);
    expect(stderr).toBe('checking hot.wav (1 of 2)\nchecking good.wav (2 of 2)\n');
  });

  test('the decimal points of all figures stand below each other, and so do the units', async () => {
    const { stdout } = await check([good]);
    const figures = stdout.split('\n').filter((line) => / {2}(LUFS|LU|dBTP|dBFS|dB|dB\/oct)$/.test(line));
    expect(figures.length).toBeGreaterThanOrEqual(12);
    expect(new Set(figures.map((line) => /(\.\d|–) {2}\S+$/.exec(line)?.index)).size).toBe(1);
    const rows = stdout.split('\n').filter((line) => line.includes('kb/s'));
    expect(rows).toHaveLength(6);
    for (const unit of ['kb/s', 'dBTP', ' dB '])
      expect(new Set(rows.map((row) => row.indexOf(unit))).size).toBe(1);
  });

  test('a profile asks for its own figures; what is no profile is refused with the list of those there are', async () => {
    const cd = await check(['--no-lossy', '--profile', 'compact-disc', '--json', good]);
    const [report] = (JSON.parse(cd.stdout) as CheckReport).files;
    expect(report.profile).toEqual({ id: 'compact-disc', name: 'Compact disc' });
    // The file is 32-bit float; a disc holds 16 bits.
    expect(report.findings.find((f) => f.id === 'wrong-bit-depth')?.severity).toBe('mend');
    expect(report.findings.map((f) => f.id)).not.toContain('turned-down');
    const mix = await check(['--no-lossy', '--kind', 'mix', '--json', good]);
    expect((JSON.parse(mix.stdout) as CheckReport).files[0].profile.id).toBe('mix-for-finishing');
    const wrong = await check(['--no-lossy', '--profile', 'somewhere', good]);
    expect(wrong.code).toBe(2);
    expect(wrong.stderr).toContain('streaming, online-radio, broadcast-r128');
    const listed = await check(['--profiles']);
    expect(listed.code).toBe(0);
    for (const id of ['streaming', 'compact-disc', 'mix-for-finishing'])
      expect(listed.stdout).toMatch(new RegExp(`^${id} {2}`, 'm'));
    expect(listed.stdout).toContain('from memory');
  });

  test('FORCE_COLOR gives colour, NO_COLOR takes it, and both say the same words', async () => {
    const colour = await check(['--no-lossy', hot], { env: { FORCE_COLOR: '1' } });
    const none = await check(['--no-lossy', hot], { env: { NO_COLOR: '1' } });
    expect(colour.stdout).toContain('\u001b[1;31m◆ mend');
    expect(none.stdout).not.toContain('\u001b');
    expect(stripVTControlCharacters(colour.stdout)).toBe(none.stdout);
  });

  test('a file name cannot speak to the terminal', async () => {
    const nasty = writeWavFile(file('a\u001b[2J\nb.wav'), songLikeNoise(1, 0.5));
    const { stdout, stderr } = await check(['--no-lossy', nasty]);
    expect(stdout + stderr).not.toContain('\u001b');
    expect(stdout.split('\n')[0]).toBe('a[2Jb.wav');
  });

  test('a reader that stops early (| head) is no fault', () => {
    const { status, stderr } = spawnSync(
      'sh',
      [
        '-c',
        `"${process.execPath}" dist/src/cli/main.js check --no-lossy "${good}" "${hot}" | head -1; echo done`,
      ],
      { cwd: root, encoding: 'utf8', env: { ...process.env, EVERYROOM_HOME: home } },
    );
    expect(status).toBe(0);
    expect(stderr).not.toMatch(/EPIPE|^\s+at /m);
  });
});

describe('--html', () => {
  test('writes one whole page beside what is printed and leaves nothing else', async () => {
    const out = file('out');
    mkdirSync(out);
    const { stdout, code } = await check([good, '--no-lossy', '--html', join(out, 'report.html')]);
    expect(code).toBe(0);
    expect(stdout).toContain('good.wav');
    expect(readdirSync(out)).toEqual(['report.html']);
    const page = readFileSync(join(out, 'report.html'), 'utf8');
    expect(page).toMatch(/^<!doctype html>[\s\S]*good\.wav[\s\S]*<\/html>\n$/);
    expect(page).not.toMatch(/NaN|Infinity|undefined/);
  });

  test.each([
    ['a folder', '.', 'FILE_IS_DIRECTORY'],
    ['a folder that does not exist', 'nowhere/report.html', 'FILE_NOT_FOUND'],
  ])('refuses %s with a sentence, before any work', async (_what, place, code) => {
    const ran = await check([good, '--no-lossy', '--html', join(folder, place)]);
    expect(ran.code).toBe(2);
    expect(ran.stdout).toBe('');
    expect(ran.stderr).toMatch(new RegExp(`^[^\\n]+ \\(${code}\\)\\n$`));
  });
});

test('without a data folder the check goes on, and says so once', async () => {
  const { stdout, stderr, code } = await check(['--no-lossy', good, hot], {
    env: { EVERYROOM_HOME: join(good, 'inside-a-file') },
  });
  expect(code).toBe(1);
  expect(stdout).toContain('Two files');
  expect(stderr.match(/results will not be kept/g)).toHaveLength(1);
  expect(stderr).not.toMatch(/^\s+at /m);
});

test('--version and --help need nothing; --help names the exit codes', async () => {
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string };
  expect(await everyroom(['--version'])).toEqual({ code: 0, stdout: `${version}\n`, stderr: '' });
  const help = await everyroom(['check', '--help']);
  expect(help).toMatchObject({ code: 0, stderr: '' });
  for (const word of ['--json', '--html', '--no-lossy', '--fresh', 'Exit codes:', '130', 'mend', 'Examples:'])
    expect(help.stdout).toContain(word);
});
