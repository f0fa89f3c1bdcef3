// The default matrix of lossy round trips on a four-minute song, against the same encodes and decodes by the machine's
// own programs, two at a time; how soon the quick answer stands; and the peak memory of an hour.
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { root } from '../scripts/lib/root.mjs';
import { fourMinutes, long } from './lib/song.mjs';
import { median, tell } from './lib/time.mjs';
import { runTree } from './lib/tree.mjs';

const cli = join(root, 'dist/program/main.js');
const runs = 3;

/** What the machine does for each format: commands one after the other. The same encoders where it has them. */
const native = (song, folder) => {
  const out = (name) => join(folder, name);
  const ffmpeg = (...args) => ['ffmpeg', ['-v', 'error', '-y', ...args]];
  const decode = (path) => ffmpeg('-i', path, '-f', 'f32le', '/dev/null');
  const aac = (kbps, path = out(`${kbps}.aac`)) => [
    ffmpeg('-i', song, '-c:a', 'aac', '-aac_coder', 'fast', '-aac_tns', '0', '-b:a', `${kbps}k`, path),
    decode(path),
  ];
  const mp3 = (kbps, path = out(`${kbps}.mp3`)) => [
    ['lame', ['--quiet', '-b', String(kbps), song, path]],
    decode(path),
  ];
  const vorbis = (quality, path = out(`${quality}.ogg`)) => [
    ffmpeg('-i', song, '-c:a', 'libvorbis', '-q:a', String(quality), path),
    decode(path),
  ];
  const opus = (kbps, path = out(`${kbps}.opus`)) => [
    ['opusenc', ['--quiet', '--bitrate', String(kbps), song, path]],
    ['opusdec', ['--quiet', '--float', path, out(`${kbps}.opus.wav`)]],
  ];
  const sbc = (input, path = out('sbc.sbc')) => [
    ffmpeg('-i', input, '-c:a', 'sbc', '-b:a', '328k', '-f', 'sbc', path),
    ffmpeg('-f', 'sbc', '-i', path, '-f', 'f32le', '/dev/null'),
  ];
  return [
    ...[96, 128, 256].map((kbps) => aac(kbps)),
    ...[128, 192, 320].map((kbps) => mp3(kbps)),
    ...[2, 5, 9].map((quality) => vorbis(quality)),
    ...[96, 128, 160].map((kbps) => opus(kbps)),
    sbc(song),
    [...aac(256, out('series.aac')), ...sbc(out('series.aac'), out('series.sbc'))],
  ];
};

async function nativeRun(song) {
  const folder = mkdtempSync(join(tmpdir(), 'everyroom-bench-'));
  const start = performance.now();
  const waiting = native(song, folder).values();
  let cpuSeconds = 0;
  const work = async () => {
    for (const commands of waiting)
      for (const [command, args] of commands) cpuSeconds += (await runTree(command, args)).cpuSeconds;
  };
  await Promise.all(Array.from({ length: availableParallelism() }, work));
  const seconds = (performance.now() - start) / 1000;
  rmSync(folder, { recursive: true });
  return { seconds, cpuSeconds };
}

/** Seconds from the start of the program to the line with the estimate. */
function estimateSeconds(song, env) {
  return new Promise((resolve, reject) => {
    const start = performance.now();
    const child = spawn(process.execPath, [cli, 'survive', '--fresh', song], {
      stdio: ['ignore', 'ignore', 'pipe'],
      env: { ...process.env, ...env },
    });
    let said = '';
    child.stderr.setEncoding('utf8').on('data', (text) => {
      said += text;
      if (!said.includes('Estimate')) return;
      resolve((performance.now() - start) / 1000);
      child.kill('SIGKILL');
    });
    child.on('close', () => reject(new Error(`no estimate: ${said}`)));
  });
}

/** Our command and the machine's programs in turn, so that a busy moment hits both; medians. */
async function compare(title, song, env, target) {
  const [ours, theirs] = [[], []];
  for (let i = 0; i < runs; i++) {
    ours.push(
      await runTree(process.execPath, [cli, 'survive', '--fresh', '--json', song], { worst: 1, env }),
    );
    theirs.push(await nativeRun(song));
  }
  const of = (all, what) => median(all.map((each) => each[what]));
  tell(
    title,
    {
      ours: of(ours, 'seconds'),
      theirs: of(theirs, 'seconds'),
      ratio: of(ours, 'seconds') / of(theirs, 'seconds'),
    },
    target,
  );
  process.stdout.write(
    `  processor time ${of(ours, 'cpuSeconds').toFixed(1)} s against ${of(theirs, 'cpuSeconds').toFixed(1)} s; ` +
      `memory of all processes at most ${Math.max(...ours.map(({ peakGib }) => peakGib)).toFixed(2)} GiB (target under 1.5)\n`,
  );
}

export async function bench() {
  const song = await fourMinutes();
  process.stdout.write(`load before: ${loadavg()[0].toFixed(1)} on ${availableParallelism()} cores\n`);
  await compare('all formats, WebAssembly codecs', song, { EVERYROOM_ENGINE: 'wasm' }, 'at most 2x');
  await compare(
    'all formats, the machine’s ffmpeg where it gives the same figures',
    song,
    {},
    'at most 1.1x',
  );
  for (const engine of ['wasm', 'auto']) {
    const seconds = [];
    for (let i = 0; i < 5; i++) seconds.push(await estimateSeconds(song, { EVERYROOM_ENGINE: engine }));
    process.stdout.write(`quick answer, ${engine}: after ${median(seconds).toFixed(1)} s (target 3 s)\n`);
  }
  const hour = await long({ rate: 44_100, seconds: 3600 });
  const { peakGib } = await runTree(
    process.execPath,
    [cli, 'survive', '--fresh', '--json', '--formats', 'aac-256,opus-128,mp3-320', hour],
    { worst: 1 },
  );
  process.stdout.write(`an hour, three formats: peak memory ${peakGib.toFixed(2)} GiB (target under 1.5)\n`);
}
