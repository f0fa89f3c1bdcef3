// The limiter beside those of sox (gain -l) and ffmpeg (alimiter): what each costs at the same loudness under the same true
// peak. Each is driven until, scaled to a true peak of -1 dBTP, it is as loud as ours; then two distances to the sound
// it was made from: the waveform's (error to the best scaled input) and, in the ear, that of specific loudness.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../scripts/lib/root.mjs';
import { demoFolder } from './lib/song.mjs';

const built = (path) => import(pathToFileURL(join(root, 'dist/src', path)).href);
const ceilingDb = -1;
const seconds = 8;
/** Gains before our limiter, beyond a true peak at the ceiling. */
const drives = [3, 6, 9];

export async function bench() {
  const { readSound } = await built('audio/files/read-sound.js');
  const { addPart, emptyChain } = await built('finish/chain.js');
  const { ChainRunner } = await built('finish/chain-runner.js');
  const { TruePeakMeter } = await built('measure/true-peak.js');
  const tools = await loudnessTools();
  const scratch = mkdtempSync(join(tmpdir(), 'everyroom-limiter-'));

  const peakDb = (pcm) => {
    const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
    meter.push(pcm);
    return meter.finish().truePeakDbtp;
  };
  const scaled = (pcm, db) => ({
    ...pcm,
    channels: pcm.channels.map((samples) => samples.map((x) => x * 10 ** (db / 20))),
  });

  const ours = (pcm, gainDb) => {
    const chain = addPart(emptyChain, 'limiter', { gainDb, ceilingDbtp: ceilingDb });
    const runner = new ChainRunner(chain, pcm.sampleRate, pcm.channels.length);
    const late = runner.latencySamples;
    const channels = pcm.channels.map((samples) => {
      const longer = new Float32Array(samples.length + late);
      longer.set(samples);
      return longer;
    });
    runner.process(channels);
    return { ...pcm, channels: channels.map((samples) => samples.subarray(late)) };
  };
  const outside = (command) => (pcm, gainDb) => {
    const [from, to] = [join(scratch, 'in.f32'), join(scratch, 'out.f32')];
    writeFileSync(from, interleave(pcm));
    const raw = [String(pcm.sampleRate), String(pcm.channels.length)];
    const [program, ...args] = command(from, to, raw, gainDb);
    execFileSync(program, args, { stdio: ['ignore', 'ignore', 'ignore'] });
    return { ...pcm, channels: deinterleave(readFileSync(to), pcm.channels.length, pcm.channels[0].length) };
  };
  const others = {
    'sox gain -l': outside((from, to, [rate, channels], gainDb) => [
      ...[
        'sox',
        '-t',
        'f32',
        '-r',
        rate,
        '-c',
        channels,
        from,
        '-t',
        'f32',
        to,
        'gain',
        '-l',
        String(gainDb),
      ],
    ]),
    'ffmpeg alimiter': outside((from, to, [rate, channels], gainDb) => [
      ...['ffmpeg', '-v', 'error', '-y', '-f', 'f32le', '-ar', rate, '-ac', channels, '-i', from],
      ...['-af', `volume=${gainDb}dB:precision=double,alimiter=level=0:limit=0.891251:latency=1`],
      ...['-f', 'f32le', to],
    ]),
    'ffmpeg alimiter asc': outside((from, to, [rate, channels], gainDb) => [
      ...['ffmpeg', '-v', 'error', '-y', '-f', 'f32le', '-ar', rate, '-ac', channels, '-i', from],
      ...['-af', `volume=${gainDb}dB:precision=double,alimiter=level=0:limit=0.891251:latency=1:asc=1`],
      ...['-f', 'f32le', to],
    ]),
  };

  /** Driven until as loud as wanted, at the ceiling. */
  const asLoud = (limit, pcm, lufs) => {
    let [low, high] = [0, 30];
    let gainDb = pcm.drive;
    let best = null;
    for (let round = 0; round < 9; round++) {
      const raw = limit(pcm, gainDb);
      best = scaled(raw, ceilingDb - peakDb(raw));
      const missing = lufs - tools.lufs(best);
      if (Math.abs(missing) < 0.01) break;
      if (missing > 0) low = gainDb;
      else high = gainDb;
      // Loudness rises by somewhat less than the gain; never out of the bracket.
      const next = gainDb + 1.3 * missing;
      gainDb = next > low && next < high ? next : (low + high) / 2;
    }
    return Math.abs(tools.lufs(best) - lufs) < 0.1 ? best : null;
  };

  const rows = [];
  try {
    for (const [name, sound] of await soundsToLimit(readSound)) {
      const pcm = scaled(sound, ceilingDb - peakDb(sound));
      for (const drive of drives) {
        const made = ours(pcm, drive);
        const own = scaled(made, ceilingDb - peakDb(made));
        const lufs = tools.lufs(own);
        const row = { name, drive, lufs, over: peakDb(made) - ceilingDb, ours: tools.distances(pcm, own) };
        for (const [other, limit] of Object.entries(others)) {
          const theirs = asLoud(limit, { ...pcm, drive }, lufs);
          row[other] = theirs && tools.distances(pcm, theirs);
        }
        rows.push(row);
        tellRow(row, Object.keys(others));
      }
    }
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
  tellSum(rows, Object.keys(others));
}

const figures = (d) =>
  d === null
    ? 'cannot be as loud'
    : `${d.errorDb.toFixed(1)} dB${d.sone === null ? '' : `, ${d.sone.toFixed(3)} sone`}`;

function tellRow(row, others) {
  const theirs = others.map((other) => `${other} ${figures(row[other])}`).join('; ');
  process.stdout.write(
    `limiter, ${row.name}, driven ${row.drive} dB to ${row.lufs.toFixed(1)} LUFS (over by ${row.over.toFixed(3)} dB): ours ${figures(row.ours)}; ${theirs}\n`,
  );
}

function tellSum(rows, others) {
  for (const other of others) {
    const met = rows.filter((row) => row[other]);
    const error = met.filter((row) => row.ours.errorDb <= row[other].errorDb + 0.05).length;
    const sone = met.filter(
      (row) => row.ours.sone === null || row.ours.sone <= row[other].sone * 1.005,
    ).length;
    process.stdout.write(
      `limiter against ${other}: error at least as low in ${error} of ${met.length}, specific loudness at least as near in ${sone} of ${met.length}; ${rows.length - met.length} it cannot reach (target: all)\n`,
    );
  }
}

function interleave({ channels }) {
  const out = new Float32Array(channels[0].length * channels.length);
  channels.forEach((samples, c) => {
    for (let i = 0; i < samples.length; i++) out[i * channels.length + c] = samples[i];
  });
  return new Uint8Array(out.buffer);
}

function deinterleave(bytes, channels, frames) {
  const samples = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
  return Array.from({ length: channels }, (_, c) =>
    Float32Array.from({ length: frames }, (_v, i) => samples[i * channels + c] ?? 0),
  );
}

/** The mixes of the demo record from a loud place, and drums alone. */
async function soundsToLimit(readSound) {
  const folder = await demoFolder();
  const { songs } = JSON.parse(readFileSync(join(folder, 'index.json'), 'utf8'));
  const sounds = [];
  for (const song of songs) {
    const mix = song.versions.find(({ kind }) => kind === 'mix');
    if (!mix) continue;
    const { pcm } = await readSound(join(folder, mix.file));
    const from = loudestPlace(pcm, seconds * pcm.sampleRate);
    sounds.push([
      song.title,
      { ...pcm, channels: pcm.channels.map((x) => x.slice(from, from + seconds * pcm.sampleRate)) },
    ]);
  }
  return sounds;
}

function loudestPlace({ channels }, frames) {
  const step = 24000;
  const energies = [];
  for (let at = 0; at + step <= channels[0].length; at += step)
    energies.push(
      channels.reduce((sum, x) => sum + x.subarray(at, at + step).reduce((s, v) => s + v * v, 0), 0),
    );
  const length = Math.floor(frames / step);
  let best = 0;
  let most = 0;
  for (let i = 0; i + length <= energies.length; i++) {
    const sum = energies.slice(i, i + length).reduce((a, b) => a + b, 0);
    if (sum > most) [best, most] = [i * step, sum];
  }
  return best;
}

async function loudnessTools() {
  const { instantiateKernels } = await built('signal/kernels.js');
  const { SoundFeed } = await built('measure/sound-feed.js');
  const { LoudnessMeter } = await built('measure/loudness.js');
  const lufs = (pcm) => {
    const kernels = instantiateKernels();
    const feed = new SoundFeed(kernels, { sampleRate: pcm.sampleRate, channels: pcm.channels.length });
    const meter = new LoudnessMeter(kernels, feed, pcm.sampleRate);
    const take = (frames, last) => meter.take(frames, last);
    feed.push(pcm, take);
    feed.finish(take);
    return meter.finish().result.integratedLufs;
  };
  const patterns = await specificLoudness();
  const distances = (before, after) => ({
    errorDb: errorDb(before, after),
    sone: patterns && soneBetween(patterns(before, -lufs(before)), patterns(after, -lufs(after))),
  });
  return { lufs, distances };
}

/** Mean over time of what lies between two patterns, sone, both sounds at the same loudness. */
function soneBetween(before, after) {
  const perBark = 10;
  const sum = before.reduce(
    (total, pattern, i) =>
      total + pattern.reduce((own, n, z) => own + Math.abs(n - after[i][z]), 0) / perBark,
    0,
  );
  return sum / before.length;
}

/**
 * Specific loudness of stretches of 4096 samples (ISO 532-1, stationary), of a sound brought to 70 dB SPL by its loudness;
 * null while the floor that hears is not built.
 */
async function specificLoudness() {
  if (!existsSync(join(root, 'dist/src/hearing/specific-loudness.js'))) return null;
  const { stationaryLoudness } = await built('hearing/specific-loudness.js');
  const { RealFft } = await built('signal/fft.js');
  const size = 4096;
  const fft = new RealFft(size);
  const [re, im, time] = [size / 2 + 1, size / 2 + 1, size].map((length) => new Float64Array(length));
  return ({ sampleRate, channels }, gainDb) => {
    const out = [];
    for (const x of channels)
      for (let at = 0; at + size <= x.length; at += size) {
        for (let i = 0; i < size; i++) time[i] = x[at + i] * (0.5 - 0.5 * Math.cos((2 * Math.PI * i) / size));
        fft.forward(time, re, im);
        const levels = Array.from({ length: 28 }, (_, b) => {
          const middle = ((1000 * 10 ** ((b - 16) / 10)) / sampleRate) * size;
          const [low, high] = [middle * 10 ** -0.05, middle * 10 ** 0.05];
          let power = 1e-14;
          for (let k = Math.max(1, Math.floor(low)); k <= Math.min(size / 2, Math.ceil(high)); k++) {
            const share = Math.max(0, Math.min(k + 0.5, high) - Math.max(k - 0.5, low));
            power += share * (re[k] ** 2 + im[k] ** 2);
          }
          return 10 * Math.log10((2 * power) / (0.375 * size * size)) + 70 + gainDb;
        });
        out.push(stationaryLoudness(levels, 'free').pattern);
      }
    return out;
  };
}

/** Power of what is left when the input, scaled as well as can be, is taken away, dB under the output. */
function errorDb(before, after) {
  let [cross, power, out] = [0, 0, 0];
  before.channels.forEach((x, c) => {
    const y = after.channels[c];
    for (let i = 0; i < x.length; i++) {
      cross += x[i] * y[i];
      power += x[i] * x[i];
      out += y[i] * y[i];
    }
  });
  return 10 * Math.log10((out - (cross * cross) / power) / out);
}
