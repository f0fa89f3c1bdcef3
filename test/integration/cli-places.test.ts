import { execFileSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Measured } from '../../src/judge/measured-report.ts';
import type { PlacesReport } from '../../src/judge/places-report.ts';
import { builtInPlaces } from '../../src/places/built-in-places.ts';
import { makeSweep, planSweep } from '../../src/places/sweep.ts';
import { virtualRoom } from '../conformance/virtual-room.ts';
import { outside } from '../outside.ts';
import { seeded } from '../seeded-sound.ts';
import { everyroom } from './cli-run.ts';
import { songLikeNoise, writeWavFile } from './cli-sounds.ts';

let folder: string;
let song: string;
let reference: string;
/** Has nothing in common with the others, which are of one seed. */
let unheard: string;
let env: Record<string, string>;
const inFolder = (name: string) => join(folder, name);
const places = (...args: string[]) => everyroom(['places', ...args], { env });

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'everyroom-places-'));
  env = { EVERYROOM_HOME: inFolder('home') };
  song = writeWavFile(inFolder('song.wav'), songLikeNoise(5, 0.8));
  // The same with its bass taken away: what is heard of it elsewhere is another thing.
  const thin = songLikeNoise(5, 0.8);
  for (let i = thin.length - 1; i >= 2; i--) thin[i] = 0.5 * (thin[i] - 0.97 * thin[i - 2]);
  reference = writeWavFile(inFolder('thin.wav'), thin);
  const random = seeded(99);
  unheard = writeWavFile(
    inFolder('unheard.wav'),
    thin.map(() => random() - 0.5),
  );
});

afterAll(() => rm(folder, { recursive: true }));

test('all places at a glance, worst first, in text, JSON and HTML; 1 when something stands out', async () => {
  const report = inFolder('places.html');
  const { code, stdout, stderr } = await places(song, '--against', reference, '--html', report);
  expect([code, stderr]).toEqual([1, 'listening to song.wav\n']);
  for (const { name } of builtInPlaces) expect(stdout).toContain(name);
  expect(stdout.replace(/\s+/g, ' ')).toMatch(/Worst is the .*; in your reference /);
  expect(stdout).toMatch(/^◆ .* \d+ \(\d+\)/m);
  const html = await readFile(report, 'utf8');
  expect(html.match(/<svg class="plot"/g)).toHaveLength(builtInPlaces.length);
  expect(html).toContain('falling 6 to 9 dB an octave above 100 Hz');
  expect(html).not.toMatch(/<script|https?:/);

  const json = await places(song, '--against', reference, '--json');
  const { files } = JSON.parse(json.stdout) as { files: PlacesReport[] };
  expect(files[0].places.map(({ severity }) => severity)).toEqual(
    files[0].places.map(({ severity }) => severity).toSorted((a, b) => b - a),
  );
  // Not in absolute terms: held against itself it fares everywhere as its reference does.
  const calm = await places(song, '--against', song, '--place', 'car-110', '--place', 'phone', '--loud');
  expect(calm.code).toBe(0);
  expect(calm.stdout).toContain('The song fares as your references do in all two places.');
  const level = await places(song, '--place', 'Good studio', '--level', '70', '--json');
  const [{ places: studio }] = (JSON.parse(level.stdout) as { files: PlacesReport[] }).files;
  expect(studio.map(({ effect }) => effect!.levelDba)).toEqual([70]);
}, 60_000);

test('the lead by a file of it alone: over the rest as it was mixed, and refused when it is of another song', async () => {
  // A tone that speaks, 6 dB under noise.
  const frames = 5 * 44_100;
  const lead = new Float32Array(2 * frames);
  for (let n = 0; n < frames; n++) {
    const t = n / 44_100;
    const open = 0.5 - 0.5 * Math.cos(2 * Math.PI * 3 * t);
    const voice = [500, 1000, 1500, 2000, 3000].reduce(
      (sum, hz) => sum + Math.sin(2 * Math.PI * hz * t + 3 * Math.sin(5 * t)),
      0,
    );
    lead[2 * n] = lead[2 * n + 1] = 0.08 * open * voice;
  }
  const band = songLikeNoise(5, 0.4);
  const paths = {
    mix: writeWavFile(
      inFolder('mix.wav'),
      lead.map((v, i) => v + band[i]),
    ),
    lead: writeWavFile(inFolder('lead.wav'), lead),
    band: writeWavFile(inFolder('band.wav'), band),
  };
  const leadOf = async (...args: string[]) => {
    const { stdout } = await places(paths.mix, '--place', 'studio', '--json', ...args);
    const [report] = (JSON.parse(stdout) as { files: PlacesReport[] }).files;
    return { from: report.leadFrom, ...report.places[0].lead! };
  };
  const stem = await leadOf('--lead', paths.lead);
  const instrumental = await leadOf('--instrumental', paths.band);
  expect([stem.from, instrumental.from]).toEqual(['stem', 'instrumental']);
  expect(stem.overNoise).toBeGreaterThan(0.3);
  expect(stem.overAll).toBeLessThan(stem.overNoise);
  expect(Math.abs(stem.overAll - instrumental.overAll)).toBeLessThan(0.06);
  const wrong = await places(paths.mix, '--place', 'studio', '--lead', unheard);
  expect([wrong.code, wrong.stderr]).toEqual([2, expect.stringContaining('(PART_NOT_IN_SONG)')]);
}, 60_000);

test('sweep, recording, place: what is asked, what is found, and the place in the list', async () => {
  const out = inFolder('sweep.wav');
  const made = await places('sweep', out, '--seconds', '2', '--rate', '44100');
  expect(made.code).toBe(0);
  expect(made.stdout.replace(/\s+/g, ' ')).toMatch(/Ears: begin.*tweeter.*Cars: only parked/);
  const { info, pcm } = await readSound(out);
  expect(info).toMatchObject({ sampleRate: 44_100, channels: 1, bitDepth: 24 });
  const room = virtualRoom(4, pcm);
  await writeWav(inFolder('rec.wav'), room.recording, { sampleFormat: 's16' });
  const told = await places(
    'measure',
    inFolder('rec.wav'),
    '--seconds',
    '2',
    '--name',
    'Back room',
    '--noise',
    '38',
  );
  expect([told.code, told.stderr]).toEqual([0, 'measuring rec.wav\n']);
  expect(told.stdout).toMatch(/third octaves of 31 are sure/);
  expect(told.stdout).toContain('Kept as the place “Back room” (back-room)');
  expect((await places('list')).stdout).toMatch(/^back-room +Back room +62 +80 +38 +yours$/m);
  const shown = await places('show', 'back', '--json');
  expect(JSON.parse(shown.stdout)).toMatchObject({ place: { id: 'back-room', noise: { levelDba: 38 } } });
  const car = await places('show', 'car-110');
  expect(car.stdout.replace(/\s+/g, ' ')).toMatch(/Assumption of this project: door loudspeakers/);
}, 60_000);

const sweep = () => makeSweep(planSweep({ seconds: 2 }), 48_000).channels[0];
const ffmpeg = outside('ffmpeg');

test.skipIf(!ffmpeg)(
  'a recording made with filters of ffmpeg: their response is found within 0.2 dB',
  async () => {
    await writeWav(inFolder('dry.wav'), { sampleRate: 48_000, channels: [sweep()] }, { sampleFormat: 'f32' });
    // Two equalisers of its own, and a delay as a recorder has that was begun earlier.
    const filters = 'equalizer=f=250:t=q:w=1:g=-6,equalizer=f=3000:t=q:w=1.4:g=8,adelay=700,apad=pad_dur=1';
    const recorded = inFolder('filtered.wav');
    execFileSync('ffmpeg', [
      '-v',
      'error',
      '-i',
      inFolder('dry.wav'),
      '-af',
      filters,
      '-c:a',
      'pcm_f32le',
      recorded,
    ]);
    const { stdout } = await places('measure', recorded, '--seconds', '2', '--json');
    const { measured } = JSON.parse(stdout) as { measured: Measured };
    expect(measured.startSeconds).toBeCloseTo(0.7, 2);
    // The cookbook's peaking filter, as ffmpeg has it, mean power over each third octave.
    const peak = (f: number, f0: number, q: number, g: number) => {
      const [a, w0, w] = [10 ** (g / 40), (2 * Math.PI * f0) / 48_000, (2 * Math.PI * f) / 48_000];
      const alpha = Math.sin(w0) / (2 * q);
      const size = (b0: number, b1: number, b2: number) =>
        (b0 + b1 * Math.cos(w) + b2 * Math.cos(2 * w)) ** 2 + (b1 * Math.sin(w) + b2 * Math.sin(2 * w)) ** 2;
      const middle = -2 * Math.cos(w0);
      return size(1 + alpha * a, middle, 1 - alpha * a) / size(1 + alpha / a, middle, 1 - alpha / a);
    };
    const expected = measured.bands.map(({ centreHz }) => {
      const parts = Array.from({ length: 25 }, (_, i) => centreHz * 10 ** ((i - 12) / 250));
      return (
        10 * Math.log10(parts.reduce((sum, f) => sum + peak(f, 250, 1, -6) * peak(f, 3000, 1.4, 8), 0) / 25)
      );
    });
    const offs = measured.bands.flatMap(({ sure, db }, b) => (sure ? [db! - expected[b]] : []));
    expect(offs.length).toBeGreaterThan(22);
    const middle = offs.toSorted((a, b) => a - b)[offs.length >> 1];
    for (const off of offs) expect(Math.abs(off - middle)).toBeLessThan(0.2);
  },
);

test('what cannot be: silence, too short, no sweep, cut off, not a sound, one channel, 192 kHz, no such place', async () => {
  const mono = (name: string, samples: Float32Array, sampleRate = 48_000) =>
    writeWavFile(inFolder(name), samples, { channels: 1, sampleRate });
  const measure = async (path: string, ...args: string[]) => {
    const { code, stdout, stderr } = await places('measure', path, ...args);
    return { code, stdout, error: /\((\w+)\)$/m.exec(stderr)?.[1] ?? null, stderr };
  };
  const silence = mono('silence.wav', new Float32Array(48_000));
  expect(await measure(silence)).toMatchObject({ code: 2, error: 'SIGNAL_NOT_FOUND' });
  const short = await measure(mono('short.wav', sweep().subarray(0, 40_000)), '--seconds', '2');
  expect(short).toMatchObject({ code: 2, error: 'SIGNAL_NOT_FOUND' });
  expect(short.stderr).toContain('record all of it');
  expect(await measure(song, '--seconds', '5')).toMatchObject({ code: 2, error: 'SIGNAL_NOT_FOUND' });
  expect(await measure(song, '--reference', unheard)).toMatchObject({ code: 2, error: 'SIGNAL_NOT_FOUND' });
  await writeFile(inFolder('note.txt'), 'this is a shopping list, not a sound');
  expect(await measure(inFolder('note.txt'))).toMatchObject({ code: 2, error: 'SOUND_NOT_RECOGNISED' });
  expect(await measure(silence, '--microphone', inFolder('note.txt'))).toMatchObject({
    error: 'MICROPHONE_INVALID',
  });
  const hot = sweep().map((v) => Math.max(-0.4, Math.min(0.4, 4 * v)));
  const clipped = await measure(mono('hot.wav', hot), '--seconds', '2');
  expect(clipped.code).not.toBe(2);
  expect(clipped.stdout.replace(/\s+/g, ' ')).toContain('The recording is cut off at its loudest.');

  const one = mono(
    'one.wav',
    songLikeNoise(2, 0.5).filter((_, i) => i % 2 === 0),
  );
  const alone = await places(one, '--place', 'phone', '--place', 'living-room', '--json');
  const [report] = (JSON.parse(alone.stdout) as { files: PlacesReport[] }).files;
  expect(report.places.map(({ effect }) => effect!.monoLossDb)).toContain(0);
  const high = writeWavFile(inFolder('high.wav'), songLikeNoise(1, 0.5, 192_000), { sampleRate: 192_000 });
  const several = await places(silence, high, inFolder('note.txt'), '--place', 'phone');
  expect(several.code).toBe(2);
  expect(several.stdout).toContain('The song is silent: there is nothing to hear anywhere.');
  expect(several.stdout).toContain('high.wav');
  expect(several.stderr).toContain('(SOUND_NOT_RECOGNISED)');
  const nowhere = await places(song, '--place', 'moon');
  expect([nowhere.code, nowhere.stderr]).toEqual([
    2,
    expect.stringContaining('There is no place “moon”. There are: phone,'),
  ]);
  expect((await places(song, '--level', 'loud')).stderr).toContain('(USAGE)');
  expect((await places(song, '--lead', one, '--instrumental', one)).stderr).toContain('(USAGE)');
  const stopped = await everyroom(['places', song, '--fresh'], { env, interruptWith: 'SIGINT' });
  expect(stopped.code).toBe(130);
}, 120_000);
