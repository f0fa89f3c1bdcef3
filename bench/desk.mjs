// What the desk's engine takes of one core while five sources play at 48 kHz, as a share of real time; what a change of what
// is heard costs at once; and how soon a measured song sounds.
import { mkdtempSync, rmSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { pathToFileURL } from 'node:url';
import { root } from '../scripts/lib/root.mjs';
import { fullChain } from './finish.mjs';
import { fourMinutes } from './lib/song.mjs';

const built = (path) => import(pathToFileURL(join(root, 'dist/src', path)).href);
const rate = 48_000;
const seconds = 30;
const plain = {
  fold: 'stereo',
  swap: false,
  flip: false,
  levelDb: 0,
  quiet: false,
  band: 'all',
  minus: null,
  withoutChain: false,
  takenBy: null,
  service: false,
};

export async function bench() {
  await engine();
  await firstSound();
}

async function engine() {
  const { DeskEngine } = await built('compare/listening/engine.js');
  const { chunkFrames } = await built('compare/listening/sound.js');
  const { addPart, emptyChain } = await built('finish/chain.js');
  const { ChainRunner } = await built('finish/chain-runner.js');
  const { builtInPlaces } = await built('places/built-in-places.js');
  const { PlaceProcessor } = await built('places/place-processor.js');
  const chain = fullChain.reduce((made, [kind, settings]) => addPart(made, kind, settings), emptyChain);
  // As web/desk/live-makers.ts does for the page.
  const makers = {
    insert: (settings) => {
      const runner = new ChainRunner(settings, rate, 2);
      return {
        latencyFrames: runner.latencySamples,
        process: (block) => runner.process(block),
        reset: (at) => runner.reset(at),
        follow: (next) => runner.followInTime(next),
      };
    },
    surround: (place) =>
      new PlaceProcessor(
        place,
        { fullScaleDb: 85, playedOn: 'headphones', monitorFullScaleDb: null, noise: true },
        rate,
      ),
  };
  const car = builtInPlaces.find(({ id }) => id === 'car-110');
  const keys = ['a', 'b', 'c', 'd', 'e'];
  const samples = Float32Array.from({ length: 2 * chunkFrames }, (_, i) => 0.3 * Math.sin(i / 7));
  const costOf = (hearing, each = () => {}, { settings = null, place = null } = {}) => {
    const desk = new DeskEngine(rate, makers);
    desk.setSources(
      keys.map((key) => ({
        key,
        sound: key,
        shiftFrames: 0,
        gain: 1,
        serviceGain: 1,
        chain: key === 'a' && settings ? { settings, dryGain: 1 } : null,
      })),
      300 * rate,
    );
    if (place) desk.setPlace(place, 1);
    desk.setHearing({ ...plain, ...hearing });
    desk.choose('a');
    desk.play();
    const [left, right] = [new Float32Array(128), new Float32Array(128)];
    const blocks = [];
    const start = process.cpuUsage();
    for (let block = 0; block < (seconds * rate) / 128; block++) {
      if (block % 16 === 0)
        for (const { key, chunk } of desk.report(12).wanted) desk.give(key, chunk, samples);
      each(desk, block);
      const before = performance.now();
      desk.process(left, right);
      blocks.push(performance.now() - before);
    }
    const { user, system } = process.cpuUsage(start);
    // Not the longest: on a busy machine that is whatever else ran.
    const late = blocks.sort((a, b) => a - b)[Math.floor(blocks.length * 0.9)];
    const share = (user + system) / 1e4 / seconds;
    return `${share.toFixed(2)} % of one core, 9 of 10 blocks within ${late.toFixed(2)} of 2.67 ms`;
  };
  const say = (what, text) => process.stdout.write(`desk, five sources at 48 kHz, ${what}: ${text}\n`);
  say('playing', costOf({}));
  say(
    'switching ten times a second',
    costOf({}, (desk, block) => block % 37 === 0 && desk.choose(keys[(block / 37) % 5])),
  );
  say('the low band alone', costOf({ band: 'low' }));
  say('the low band of a difference', costOf({ band: 'low', minus: 'b' }));
  const quiet = () => {};
  say('in the heaviest place, with noise (target under 10 %)', costOf({}, quiet, { place: car }));
  say('through a full chain (target under 25 %)', costOf({}, quiet, { settings: chain }));
  say('both', costOf({}, quiet, { settings: chain, place: car }));
}

/** From the desk being opened to the first stretch of sound of a song that was measured, with the server in this process. */
async function firstSound() {
  const { Bench } = await built('bench/bench.js');
  const home = mkdtempSync(join(tmpdir(), 'everyroom-bench-'));
  const bench = await Bench.open({ homePath: home });
  try {
    const { song, version, job } = await bench.receive({
      stream: [await readFile(await fourMinutes())],
      name: 'Four minutes.wav',
      kind: 'master',
      songId: undefined,
      maxBytes: 2 ** 31,
    });
    if (job) await bench.jobs.cancel(job.id);
    await bench.check(version.id, false);
    while (!(await bench.songs.getVersion(version.id)).verdict)
      await new Promise((resolve) => setTimeout(resolve, 100));
    // As the server does when it starts.
    await bench.playback.prepare(null);
    for (const [at, what] of [
      [44_100, 'converted'],
      [48_000, 'not converted'],
      [48_000, 'kept'],
    ]) {
      const start = performance.now();
      await bench.desk.open(song.id);
      await bench.desk.sound(version.id, { rate: at, baseId: version.id, from: 0, frames: 32_768 });
      const first = performance.now() - start;
      await bench.desk.sound(version.id, { rate: at, baseId: version.id, from: 239 * at, frames: 1000 });
      const last = performance.now() - start;
      process.stdout.write(
        `first sound of four minutes, ${what}: ${first.toFixed(0)} ms (target 300 ms); its end: ${last.toFixed(0)} ms\n`,
      );
    }
  } finally {
    await bench.close();
    rmSync(home, { recursive: true, force: true });
  }
}
