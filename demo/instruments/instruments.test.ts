import { expect, test } from 'vitest';
import { randomFrom } from '../random.ts';
import { hertz } from '../score.ts';
import { bassGuitar } from './bass.ts';
import { acousticGuitar } from './guitar.ts';
import { electricPiano, organ, piano } from './keys.ts';
import { mallets } from './mallets.ts';
import { bowed, pad } from './pad.ts';
import { ring } from './resonance.ts';
import { voice } from './voice.ts';

const rate = 44100;
const frames = Math.round(1.6 * rate);
const singer = { tract: 0.9, breath: 0, vibrato: 0, vibratoHz: 5, scoop: 0 };

/** The strongest repetition within half a semitone of the wanted pitch, Hz, by autocorrelation with parabolic fit. */
function sungHertz(samples: Float32Array, near: number): number {
  const part = samples.subarray(0.5 * rate, 0.9 * rate);
  const shift = rate / near;
  const at = (lag: number) => {
    let sum = 0;
    for (let i = 0; i + lag < part.length; i++) sum += part[i] * part[i + lag];
    return sum / (part.length - lag);
  };
  // Several periods at once make the reading finer than one sample.
  const turns = 8;
  const from = Math.floor(turns * shift * 0.98);
  const to = Math.ceil(turns * shift * 1.02);
  let best = from;
  for (let lag = from; lag <= to; lag++) if (at(lag) > at(best)) best = lag;
  const [a, b, c] = [at(best - 1), at(best), at(best + 1)];
  return (rate * turns) / (best + (a - c) / (2 * (a - 2 * b + c)));
}

test('every instrument plays in tune within 8 cents', () => {
  const note = (pitch: number) => [{ atSeconds: 0.1, seconds: 1.2, pitch, velocity: 0.7, word: 'a' }];
  const players: [string, number, Float32Array][] = [
    ['bass', 36, bassGuitar(note(36), frames, rate, 'b')],
    ['guitar', 52, acousticGuitar(note(52), frames, rate, 'g')],
    ['guitar, high', 71, acousticGuitar(note(71), frames, rate, 'g')],
    ['electric piano', 60, electricPiano(note(60), frames, rate, { tremolo: 0 }).left],
    ['piano', 60, piano(note(60), frames, rate, 'p').left],
    ['organ', 60, organ(note(60), frames, rate)],
    ['vibraphone', 72, mallets(note(72), frames, rate, 'metal')],
    ['strings', 60, pad(note(60), frames, rate, 's', { ...bowed, spread: 0 }).left],
    ['voice', 64, voice(note(64), frames, rate, singer, 'v')],
  ];
  for (const [name, pitch, samples] of players) {
    const cents = 1200 * Math.log2(sungHertz(samples, hertz(pitch)) / hertz(pitch));
    expect(Math.abs(cents), `${name} is ${cents.toFixed(1)} cents off`).toBeLessThan(8);
  }
});

test('a ringing mode falls by 60 dB in its decay time', () => {
  const out = new Float32Array(rate);
  ring(out, 0, rate, rate, [{ hz: 1000, level: 1, decaySeconds: 0.5 }]);
  const peak = (from: number) => Math.max(...out.subarray(from, from + 100).map(Math.abs));
  expect(20 * Math.log10(peak(0.5 * rate) / peak(0))).toBeCloseTo(-60, 0);
});

test('random streams differ by seed and repeat by seed', () => {
  const take = (seed: string) => Array.from({ length: 4 }, randomFrom(seed));
  expect(take('a')).toEqual(take('a'));
  expect(take('a')).not.toEqual(take('b'));
});
