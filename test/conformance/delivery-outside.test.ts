import { execFileSync } from 'node:child_process';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { frameCount } from '../../src/audio/pcm.ts';
import { deliver } from '../../src/bench/delivery/deliver.ts';
import { Pool } from '../../src/bench/pool.ts';
import type { DeliveryResult } from '../../src/deliver/delivery-result.ts';
import { lookingIn, recordOf, sumsOf, writeSongs } from '../delivery-support.ts';
import { outside } from '../outside.ts';

const pool = new Pool();
let folder = '';
let out = '';
let result: DeliveryResult;
const run = (program: string, ...args: string[]) =>
  execFileSync(program, args, { cwd: out, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'everyroom-test-'));
  out = join(folder, 'out');
  await writeSongs(folder);
  const record = recordOf({
    profiles: ['hi-res', 'streaming', 'cd', 'broadcast', 'preview-mp3', 'preview-aac', 'aiff'],
    artwork: { file: 'cover.png' },
    accepted: [{ check: 'disc-track@3', by: 'Ottilie' }],
  });
  result = await deliver({ ...lookingIn(folder, record), folder: out }, { pool, results: null });
}, 120_000);

afterAll(async () => {
  await pool.close();
  await rm(folder, { recursive: true, force: true });
});

const songs = ['01 Ferry Light', '02 Ferry Light, ebb', '03 Quiet Machinery'];

describe('a delivery, seen from outside', () => {
  test('is done: every point of every contract is met', () => {
    const failed = result.files.flatMap(({ name, checks }) =>
      checks.filter(({ passed }) => !passed).map((check) => ({ name, ...check })),
    );
    expect(failed).toEqual([]);
    expect(result.open).toEqual([]);
    expect(result.state).toBe('done');
    expect(result.files).toHaveLength(6 * 3 + 1);
  });

  test('its checksums are those that sha256sum finds', async () => {
    for (const [name, sha256] of Object.entries(await sumsOf(out)))
      expect(run('sha256sum', name).slice(0, 64), name).toBe(sha256);
  });

  test('joined songs and the image are one sound: the tracks in a row, to the sample', async () => {
    const image = (await readSound(join(out, 'cd', 'Lanterns Low Water.wav'))).pcm;
    expect(frameCount(image) % 588).toBe(0);
    const halves = await Promise.all(
      songs.slice(0, 2).map((name) => readSound(join(out, 'aiff', `${name}.aif`))),
    );
    const sources = await Promise.all(['one', 'two'].map((name) => readSound(join(folder, `${name}.wav`))));
    // Nothing is to be changed in them: then every sample is that of its source.
    expect(halves[0].pcm.channels[0]).toEqual(sources[0].pcm.channels[0]);
    expect(halves[1].pcm.channels[1].subarray(0, frameCount(sources[1].pcm))).toEqual(
      sources[1].pcm.channels[1],
    );
  });

  test.skipIf(!outside('flac'))('flac takes every FLAC file for whole, MD5 and all', () => {
    for (const name of songs) run('flac', '-t', '-s', '-w', `streaming/${name}.flac`);
    expect(run('metaflac', '--show-bps', '--show-total-samples', `streaming/${songs[0]}.flac`)).toBe(
      '24\n200001\n',
    );
    expect(run('metaflac', '--show-md5sum', `streaming/${songs[0]}.flac`)).not.toMatch(/^0+$/m);
    const comments = run('metaflac', '--export-tags-to=-', `streaming/${songs[1]}.flac`);
    for (const line of [
      'TITLE=Ferry Light, ebb',
      'ISRC=ZZHBR2600002',
      'TRACKNUMBER=2',
      'BARCODE=2012345678903',
      'COMPOSER=Bram Askew',
      'DATE=2026-11-27',
      'LANGUAGE=en',
    ])
      expect(comments).toContain(`${line}\n`);
    expect(run('metaflac', '--list', '--block-type=PICTURE', `streaming/${songs[0]}.flac`)).toContain(
      'type: 3 (Cover (front))',
    );
  });

  test.skipIf(!outside('ffprobe'))(
    'ffprobe finds the form, the words and the picture in every container',
    () => {
      for (const [path, codec, title] of [
        [`hi-res/${songs[2]}.wav`, 'pcm_s24le', 'title'],
        [`streaming/${songs[2]}.flac`, 'flac', 'TITLE'],
        [`aiff/${songs[2]}.aif`, 'pcm_s24be', 'title'],
        [`preview-mp3/${songs[2]}.mp3`, 'mp3', 'title'],
        [`preview-aac/${songs[2]}.m4a`, 'aac', 'title'],
      ]) {
        const { streams, format } = JSON.parse(
          run('ffprobe', '-v', 'quiet', '-of', 'json', '-show_streams', '-show_format', path),
        ) as {
          streams: { codec_type: string; codec_name: string }[];
          format: { tags: Record<string, string> };
        };
        expect(streams.find((stream) => stream.codec_type === 'audio')?.codec_name, path).toBe(codec);
        expect(format.tags[title], path).toBe('Quiet Machinery');
        if (!path.endsWith('.wav'))
          expect(
            streams.some((stream) => stream.codec_type === 'video'),
            path,
          ).toBe(true);
      }
    },
  );

  test.skipIf(!outside('ffmpeg'))(
    'ffmpeg reads the loudness that a broadcast file says it has (EBU Tech 3285, R 128)',
    async () => {
      const found = result.files.find(({ name }) => name === `broadcast/${songs[0]}.wav`)?.found;
      const heard = execFileSync(
        'sh',
        [
          '-c',
          `ffmpeg -hide_banner -nostats -i "broadcast/${songs[0]}.wav" -af ebur128=peak=true -f null - 2>&1`,
        ],
        { cwd: out, encoding: 'utf8' },
      );
      const integrated = Number(/I:\s+(-?[\d.]+) LUFS/.exec(heard.slice(heard.lastIndexOf('Summary')))?.[1]);
      expect(integrated).toBeCloseTo(-23, 0);
      expect(Math.abs(integrated - (found?.bext?.loudness.integratedLufs ?? 0))).toBeLessThanOrEqual(0.1);
    },
  );

  test.skipIf(!outside('sndfile-info'))('sndfile-info reads the broadcast extension and the form', () => {
    const told = run('sndfile-info', `broadcast/${songs[0]}.wav`);
    expect(told).toContain('bext : 602');
    expect(told).toMatch(/Sample Rate : 48000/);
    expect(told).toMatch(/Bit Width {5}: 24/);
    expect(run('sndfile-info', '--broadcast', `broadcast/${songs[0]}.wav`)).toMatch(/ZZHBR2600001/);
  });

  test.skipIf(!outside('sox'))('sox finds the image to be whole sectors of a disc', () => {
    const told = run('sox', '--i', 'cd/Lanterns Low Water.wav');
    expect(told).toMatch(/Precision {6}: 16-bit/);
    expect(told).toMatch(/= \d+ CDDA sectors/);
  });

  test.skipIf(!outside('cuebreakpoints'))(
    'cuetools reads the cue sheet: places on frames, titles, codes',
    async () => {
      const sheet = 'cd/Lanterns Low Water.cue';
      const places = run('cuebreakpoints', sheet).trim().split('\n');
      const marks = [
        ...(await readFile(join(out, sheet), 'utf8')).matchAll(/INDEX 01 (\d\d):(\d\d):(\d\d)/g),
      ].map(([, m, s, f]) => `${Number(m)}:${s}.${f}`);
      expect(places).toEqual(marks.slice(1));
      // The first boundary lies at sample 200,001: disc frame 340 is the nearest.
      expect(places[0]).toBe('0:04.40');
      expect(run('cueprint', '-t', '%n %t %i\\n', sheet)).toBe(
        '1 Ferry Light ZZHBR2600001\n2 Ferry Light, ebb ZZHBR2600002\n3 Quiet Machinery ZZHBR2600003\n',
      );
      expect(run('cueconvert', '-i', 'cue', '-o', 'toc', sheet)).toContain('CATALOG "2012345678903"');
    },
  );
});
