// All built-in places for a four-minute song, at both levels, after it was measured; the bands of the song; partial loudness
// alone; and what the live processing of the heaviest place takes of one core. Ratios are to real time: there is no outside
// program that does the same.
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { pathToFileURL } from 'node:url';
import { root } from '../scripts/lib/root.mjs';
import { median } from './lib/time.mjs';

const load = (path) => import(pathToFileURL(join(root, 'dist/src', path)).href);
const seconds = 240;
const rate = 44_100;

/** Noise that comes and goes, different on both sides. */
function song() {
  let state = 1;
  const random = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32 - 0.5;
  };
  return {
    sampleRate: rate,
    channels: [0, 1].map(() => {
      let slow = 0;
      return Float32Array.from({ length: seconds * rate }, (_, n) => {
        slow = 0.98 * slow + 0.2 * random();
        return 0.5 * slow * (0.2 + Math.abs(Math.sin(n / 9000)));
      });
    }),
  };
}

function time(work, runs = 5) {
  const [wall, cpu] = [[], []];
  for (let i = 0; i < runs; i++) {
    const start = performance.now();
    const used = process.cpuUsage();
    work();
    wall.push((performance.now() - start) / 1000);
    const { user, system } = process.cpuUsage(used);
    cpu.push((user + system) / 1e6);
  }
  return { wall: median(wall), cpu: median(cpu) };
}

const tell = (title, { wall, cpu }, of, target) =>
  process.stdout.write(
    `${title}: ${(of / wall).toFixed(0)}x real time, ${wall.toFixed(2)} s (${cpu.toFixed(2)} s of one core; target ${target})\n`,
  );

export async function bench() {
  const { instantiateKernels } = await load('signal/kernels.js');
  const { songBands, songBandCount } = await load('places/song-bands.js');
  const { effectsInPlaces } = await load('places/all-places.js');
  const { builtInPlaces } = await load('places/built-in-places.js');
  const { PartialLoudness } = await load('hearing/partial-loudness.js');
  const { noisePowers } = await load('places/place-curve.js');
  const { PlaceProcessor } = await load('places/place-processor.js');
  const pcm = song();
  const kernels = instantiateKernels();
  tell(
    'bands of a song',
    time(() => songBands(kernels, pcm), 3),
    seconds,
    'none',
  );
  const bands = songBands(kernels, pcm);
  tell(
    `${builtInPlaces.length} places, both levels, four minutes`,
    time(() => effectsInPlaces(bands, builtInPlaces)),
    seconds,
    'at most 3 s',
  );
  const car = builtInPlaces.find(({ id }) => id === 'car-110');
  const ear = new PartialLoudness(noisePowers(car.noise).subarray(1, 29), 'free');
  const powers = new Float64Array(28);
  tell(
    'partial loudness of one song in one noise',
    time(() => {
      for (let step = 0; step < bands.steps; step++) {
        for (let b = 0; b < 28; b++) powers[b] = 1e9 * bands.left[step * songBandCount + b + 1];
        ear.look(powers);
      }
    }),
    seconds,
    'at least 100x real time',
  );
  const heaviest = new PlaceProcessor(
    { ...car, protection: builtInPlaces.find(({ id }) => id === 'phone').protection },
    { fullScaleDb: 90, playedOn: 'headphones', monitorFullScaleDb: 90, noise: true },
    48_000,
  );
  const [left, right] = [new Float32Array(128), new Float32Array(128)];
  const live = time(() => {
    for (let i = 0; i < (20 * 48_000) / 128; i++) heaviest.process(left, right, left, right);
  });
  process.stdout.write(
    `live, cross-talk, protection and noise, blocks of 128: ${((100 * live.cpu) / 20).toFixed(1)} % of one core (target under 10 %)\n`,
  );
}
