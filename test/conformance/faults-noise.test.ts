import { describe, expect, test } from 'vitest';
import { between, cases, chance, countOf, faultsOf, music } from './faults-sound.ts';

const rate = 32_000;

/** Music, a rest of nearly two seconds with its echoes, music. */
function song(seed: number): Float32Array {
  const out = new Float32Array(4 * rate);
  out.set(music(seed, 1.2, rate));
  out.set(music(seed + 999, 1, rate), 3 * rate);
  return out;
}

/** White noise, or noise that falls by 6 dB an octave above some kilohertz. */
function hiss(seed: number, levelDb: number, frames: number): Float32Array {
  const next = chance(seed + 2000);
  const share = seed % 2 ? 1 : 1 - Math.exp((-2 * Math.PI * between(next, 2000, 8000)) / rate);
  let state = 0;
  const out = Float32Array.from({ length: frames }, () => {
    state += share * (2 * next() - 1 - state);
    return state;
  });
  const rms = Math.sqrt(out.reduce((sum, x) => sum + x * x, 0) / frames);
  return out.map((x) => (x / rms) * 10 ** (levelDb / 20));
}

function wash(seed: number): Float32Array {
  const frames = 4 * rate;
  return hiss(seed, -20, frames).map((x, n) => x * 10 ** ((-2.5 * Math.max(0, n / frames - 0.3)) / 0.7));
}

describe(`noise floor, ${cases} seeded pieces`, () => {
  test('music without pauses, fades, pauses of silence: false alarms in less than 1 %', () => {
    const alarms = countOf((seed) => {
      // In turn: pauses of silence, a wash of cymbals that fades out by 50 dB, music without pauses.
      const samples = [song, wash, (s: number) => music(s, 3.5, rate)][seed % 3](seed);
      const { floorDbfs } = faultsOf([samples], rate).noise;
      return floorDbfs !== null && floorDbfs > -90;
    });
    expect(alarms).toBeLessThan(0.01 * cases);
  });

  test('hiss of -75 to -45 dBFS in a pause', () => {
    let worst = 0;
    const missed = countOf((seed) => {
      const levelDb = between(chance(seed + 3000), -75, -45);
      const samples = song(seed);
      const noise = hiss(seed, levelDb, samples.length);
      const { floorDbfs } = faultsOf([samples.map((x, n) => x + noise[n])], rate).noise;
      if (floorDbfs === null) return true;
      worst = Math.max(worst, Math.abs(floorDbfs - levelDb));
      return false;
    });
    expect(missed).toBeLessThanOrEqual(10);
    // Below 200 Hz nothing is counted, which takes little from white noise and most from the darkest (computed: 0.6 dB).
    expect(worst).toBeLessThan(2.5);
  });
});
