// A full finishing chain offline, against the nearest chain of sox on the same four minutes; how many times faster than it
// plays, on one core; and the load of the same chain live, in blocks of 128 as an AudioWorklet gives them.

import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { pathToFileURL } from 'node:url';
import { root } from '../scripts/lib/root.mjs';
import { fourMinutes } from './lib/song.mjs';
import { median, race, secondsOf, tell } from './lib/time.mjs';

const built = (path) => import(pathToFileURL(join(root, 'dist/src', path)).href);

const band = (hertz, gainDb, more = {}) => ({ hertz, gainDb, q: 1, ...more });
const hold = { ratio: 2, thresholdDbfs: -24 };
export const fullChain = [
  ['trim', { gainDb: -1 }],
  ['sub-filter', { hertz: 25 }],
  [
    'equaliser',
    {
      bands: [
        { shape: 'low-cut', hertz: 28 },
        ...[60, 150, 400, 900, 2500, 5000, 9000].map((hertz, i) => band(hertz, i % 2 ? -1.5 : 1)),
        band(11000, 2, { shape: 'high-shelf' }),
        band(1000, 0.5, { shape: 'tilt' }),
        band(250, -1, { on: 'side' }),
        band(3000, 1, { on: 'mid' }),
      ],
    },
  ],
  ['width', { monoBelowHertz: 100, highPercent: 110 }],
  ['multiband', { low: hold, middle: hold, high: hold }],
  ['compressor', { ...hold, sideChainHertz: 100, releaseBy: 'programme' }],
  ['saturation', { mixPercent: 50 }],
  ['limiter', { gainDb: 6 }],
  ['dither', { bits: '24' }],
];
const equaliserOfSox = [60, 150, 400, 900, 2500, 5000, 9000, 250, 3000].flatMap((hertz) => [
  ...['equalizer', String(hertz), '1q', '1'],
]);
const sox = [
  ...['gain', '-1', 'highpass', '25', 'highpass', '25', 'highpass', '28'],
  ...equaliserOfSox,
  ...['treble', '2', '11000', 'bass', '0.5', '1000'],
  ...[
    'mcompand',
    '0.02,0.2 -24,-24,0,-12',
    '160',
    '0.02,0.2 -24,-24,0,-12',
    '3000',
    '0.02,0.2 -24,-24,0,-12',
  ],
  ...['compand', '0.02,0.2', '-24,-24,0,-12', 'overdrive', '3', '20', 'gain', '-l', '6', 'dither'],
];

export async function bench() {
  const { readSound } = await built('audio/files/read-sound.js');
  const { addPart, emptyChain } = await built('finish/chain.js');
  const { ChainRunner } = await built('finish/chain-runner.js');
  const song = await fourMinutes();
  const { pcm } = await readSound(song);
  const frames = pcm.channels[0].length;
  const playing = frames / pcm.sampleRate;
  const chain = fullChain.reduce((made, [kind, settings]) => addPart(made, kind, settings), emptyChain);

  const run = (blockFrames) => {
    const channels = pcm.channels.map((samples) => samples.slice());
    const runner = new ChainRunner(chain, pcm.sampleRate, channels.length);
    const start = performance.now();
    const before = process.cpuUsage();
    for (let at = 0; at < frames; at += blockFrames)
      runner.process(channels.map((samples) => samples.subarray(at, at + blockFrames)));
    const { user, system } = process.cpuUsage(before);
    // What a busy machine gives to others is no load of ours.
    return { seconds: (performance.now() - start) / 1000, cpuSeconds: (user + system) / 1e6 };
  };

  const raced = await race(
    () => run(4096).seconds,
    () => secondsOf('sox', ['-V1', '--single-threaded', song, '-b', '24', '-n', ...sox], { worst: 2 }),
    3,
  );
  tell('full finishing chain offline against sox', raced, 'at most 1x');
  const times = playing / median([1, 2, 3].map(() => run(4096).cpuSeconds));
  process.stdout.write(
    `full finishing chain offline: ${times.toFixed(1)} times as fast as it plays, by processor time (target at least 60)\n`,
  );
  const live = median([1, 2, 3].map(() => run(128).cpuSeconds));
  process.stdout.write(
    `full finishing chain live, blocks of 128: ${((100 * live) / playing).toFixed(2)} % of one core at ${pcm.sampleRate} Hz (target under 25 %)\n`,
  );
}
