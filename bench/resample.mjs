// Rate conversion of the four-minute song's sound, in process, against sox's best converter on the same file.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { pathToFileURL } from 'node:url';
import { root } from '../scripts/lib/root.mjs';
import { folder, long } from './lib/song.mjs';
import { race, secondsOf, tell } from './lib/time.mjs';

const built = (path) => import(pathToFileURL(join(root, 'dist/src', path)).href);

export async function bench() {
  const { readSound } = await built('audio/files/read-sound.js');
  const { writeWav } = await built('audio/files/write-sound.js');
  const { Resampler } = await built('signal/resampler.js');
  mkdirSync(folder, { recursive: true });
  const input = await long({ rate: 44_100, seconds: 240 });
  const { pcm } = await readSound(input);
  const convert = (options) => {
    const start = process.cpuUsage();
    const resampler = new Resampler({ from: 44_100, to: 48_000, channels: 2, ...options });
    for (let at = 0; at < pcm.channels[0].length; at += 65_536)
      resampler.push(pcm.channels.map((samples) => samples.subarray(at, at + 65_536)));
    resampler.finish();
    const { user, system } = process.cpuUsage(start);
    return (user + system) / 1e6;
  };
  // Both with reading and writing: sox knows no other way.
  const output = join(folder, 'resampled.wav');
  const withFiles = async () => {
    const start = performance.now();
    const { pcm: read } = await readSound(input);
    const resampler = new Resampler({ from: 44_100, to: 48_000, channels: 2 });
    const parts = [resampler.push(read.channels), resampler.finish()];
    const channels = parts[0].map((head, c) => {
      const whole = new Float32Array(head.length + parts[1][c].length);
      whole.set(head);
      whole.set(parts[1][c], head.length);
      return whole;
    });
    await writeWav(output, { sampleRate: 48_000, channels }, { sampleFormat: 'f32' });
    return (performance.now() - start) / 1000;
  };
  const sox = () =>
    secondsOf('sox', [input, '-e', 'float', '-b', '32', output, 'rate', '-v', '48000'], {
      env: { OMP_NUM_THREADS: '1' },
    });
  tell('44.1 to 48 kHz, file to file, against sox rate -v', await race(withFiles, sox, 3), 'at most 2x');
  for (const [what, options] of [
    ['44.1 to 48 kHz', {}],
    ['the same with drift', { start: 0.3, drift: 1e-5 }],
  ]) {
    const seconds = Math.min(convert(options), convert(options), convert(options));
    process.stdout.write(
      `${what}: ${(240 / seconds).toFixed(0)}x real time of one core, stereo (target 60x)\n`,
    );
  }
}
