// Loudness, range and true peak alone, in process, on samples in memory, against libebur128 doing the same.
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { pathToFileURL } from 'node:url';
import { root } from '../scripts/lib/root.mjs';
import { folder, fourMinutes } from './lib/song.mjs';
import { race, tell } from './lib/time.mjs';

const built = (path) => import(pathToFileURL(join(root, 'dist/src', path)).href);

export async function bench() {
  const { readSound } = await built('audio/files/read-sound.js');
  const { instantiateKernels } = await built('signal/kernels.js');
  const { SoundFeed } = await built('measure/sound-feed.js');
  const { LoudnessMeter } = await built('measure/loudness.js');
  const { TruePeakSearch } = await built('measure/true-peak.js');
  const { pcm } = await readSound(await fourMinutes());

  const ours = () => {
    const start = performance.now();
    const kernels = instantiateKernels();
    const feed = new SoundFeed(kernels, { sampleRate: pcm.sampleRate, channels: pcm.channels.length });
    const loudness = new LoudnessMeter(kernels, feed, pcm.sampleRate);
    const truePeak = new TruePeakSearch(kernels, feed, pcm.sampleRate);
    const take = (frames, last) => {
      loudness.take(frames, last);
      truePeak.take(frames, last);
    };
    feed.push(pcm, take);
    feed.finish(take);
    loudness.finish();
    truePeak.finish();
    return (performance.now() - start) / 1000;
  };

  mkdirSync(folder, { recursive: true });
  const program = join(folder, 'libebur128-time');
  const raw = join(folder, 'four-minutes.f32');
  execFileSync('gcc', ['-O2', '-o', program, join(root, 'bench/lib/libebur128-time.c'), '-lebur128', '-lm']);
  const [left, right] = pcm.channels;
  const interleaved = new Float32Array(left.length * 2);
  for (let i = 0; i < left.length; i++) {
    interleaved[2 * i] = left[i];
    interleaved[2 * i + 1] = right[i];
  }
  writeFileSync(raw, new Uint8Array(interleaved.buffer));
  const theirs = () => Number(execFileSync(program, [String(pcm.sampleRate), raw], { encoding: 'utf8' }));

  const { ours: us, theirs: them } = await race(ours, theirs);
  tell(
    'libebur128 with I|LRA|TRUE_PEAK against ours',
    { ours: them, theirs: us, ratio: them / us },
    'at least 5x',
  );
}
