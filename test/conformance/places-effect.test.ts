import { describe, expect, test } from 'vitest';
import type { Pcm } from '../../src/audio/pcm.ts';
import { effectsInPlaces } from '../../src/places/all-places.ts';
import { builtInPlaces, studio } from '../../src/places/built-in-places.ts';
import { leadIntelligibility, splitMiddle } from '../../src/places/lead-voice.ts';
import type { Place } from '../../src/places/place.ts';
import { type PlaceFigure, placeAgainst, severity } from '../../src/places/place-against.ts';
import { hearInStudio, type PlaceEffect, placeEffect } from '../../src/places/place-effect.ts';
import { monoLossDb, powerGainFor } from '../../src/places/place-level.ts';
import { songBandCount, songBands } from '../../src/places/song-bands.ts';
import { instantiateKernels } from '../../src/signal/kernels.ts';
import { seeded, seededMix } from '../seeded-sound.ts';

const rate = 48000;
const kernels = instantiateKernels();
const placeOf = (id: string) => builtInPlaces.find((place) => place.id === id)!;
const mix = seededMix(21, { sideDb: -8, seconds: 8, sampleRate: rate });
const bands = songBands(kernels, mix);

function effectIn(pcm: Pcm, place: Place, levelDba = 62) {
  const song = songBands(kernels, pcm);
  return placeEffect(song, place, hearInStudio(song, levelDba)!);
}

/** Adds a bass line of 55 Hz, on and off each half second. */
function withBass(amplitude: number): Pcm {
  const add = (x: number, n: number) =>
    x * 0.5 + (Math.floor(n / (rate / 2)) % 2) * amplitude * Math.sin((2 * Math.PI * 55 * n) / rate);
  return { sampleRate: rate, channels: mix.channels.map((channel) => channel.map(add)) };
}

describe('bands of a song', () => {
  test('a sine stands in its band with its own level, both sides and what they share', () => {
    const sine = (hertz: number, phase: number) =>
      Float32Array.from(
        { length: 2 * rate },
        (_, n) => 0.5 * Math.sin((2 * Math.PI * hertz * n) / rate + phase),
      );
    for (const [hertz, band] of [
      [50, 4],
      [200, 10],
      [1000, 17],
      [8000, 26],
    ]) {
      const song = songBands(kernels, {
        sampleRate: rate,
        channels: [sine(hertz, 0), sine(hertz, Math.PI / 3)],
      });
      const at = Math.floor(song.steps / 2) * songBandCount + band;
      expect(10 * Math.log10(song.left[at])).toBeCloseTo(-9.03, 0);
      expect(song.right[at] / song.left[at]).toBeCloseTo(1, 2);
      expect(song.common[at] / song.left[at]).toBeCloseTo(0.5, 2);
    }
  });

  test('all of the power is there, and time is right', () => {
    const random = seeded(2);
    const noise = Float32Array.from({ length: 3 * rate }, (_, n) => (n < rate ? 0 : random() - 0.5));
    const song = songBands(kernels, { sampleRate: rate, channels: [noise] });
    let [sum, early] = [0, 0];
    for (let i = 0; i < song.left.length; i++) {
      sum += song.left[i];
      if (Math.floor(i / songBandCount) * song.stepSeconds < 0.85) early += song.left[i];
    }
    // 20 Hz to 22.4 kHz of 24 kHz.
    expect(((sum * song.stepSeconds) / 2) * 12).toBeCloseTo(22.4 / 24, 1);
    expect(early / sum).toBeLessThan(1e-4);
  });
});

describe('what a place does', () => {
  test('the studio changes nothing', () => {
    const effect = effectIn(mix, studio);
    for (const band of effect.bands) {
      expect(band.heardShare).toBe(1);
      expect(band.balanceShiftPhon).toBeCloseTo(0, 6);
    }
    expect(effect.loudnessLossPhon).toBeCloseTo(0, 6);
    expect(effect.harshnessPhon).toBeCloseTo(0, 6);
  });

  test('more noise, less heard: share by band and loudness', () => {
    let before = 2;
    let sone = 1e9;
    for (const levelDba of [30, 50, 60, 65, 70, 80]) {
      const car = placeOf('car-50');
      const effect = effectIn(withBass(0.3), { ...car, noise: { ...car.noise!, levelDba } });
      const low = effect.bands[0].heardShare!;
      expect(low).toBeLessThanOrEqual(before);
      expect(effect.meanSone).toBeLessThan(sone);
      [before, sone] = [low, effect.meanSone];
      expect(low + effect.bands[0].underNoiseShare! + effect.bands[0].underThresholdShare!).toBeCloseTo(1, 9);
    }
    expect(before).toBe(0);
  });

  test('a phone loses the bass under the threshold, a car on the road under the noise', () => {
    const phone = effectIn(withBass(0.3), placeOf('phone'));
    expect(phone.bands[0].underThresholdShare).toBe(1);
    const car = effectIn(withBass(0.1), placeOf('car-110'));
    expect(car.bands[0].underNoiseShare!).toBeGreaterThan(0.5);
  });

  test('bass with harmonics is carried where the bass itself is gone, without them it is not', () => {
    const line = (harmonics: readonly number[]): Pcm => ({
      sampleRate: rate,
      channels: [
        Float32Array.from({ length: 6 * rate }, (_, n) => {
          const on = Math.max(0, Math.sin((2 * Math.PI * n) / rate));
          const bass = harmonics.reduce(
            (sum, a, i) => sum + a * Math.sin((2 * Math.PI * 55 * (i + 1) * n) / rate),
            0,
          );
          return on * bass + 0.05 * Math.sin((2 * Math.PI * 1500 * n) / rate);
        }),
      ],
    });
    const radio = { ...placeOf('television'), noise: null };
    const rich = effectIn(line([0.3, 0.2, 0.2, 0.15, 0.1, 0.1]), placeOf('laptop'), 65);
    const pure = effectIn(line([0.4]), placeOf('laptop'), 65);
    expect(rich.bassCarriedShare!).toBeGreaterThan(0.9);
    expect(pure.bassCarriedShare!).toBeLessThan(0.2);
    expect(rich.harmonicsFollow!).toBeGreaterThan(0.7);
    expect(effectIn(line([0.4]), radio, 75).bands[0].heardShare!).toBeGreaterThan(0.9);
  });

  test('mono: nothing of equal sides, 3 dB of sides with nothing in common, all of opposite ones', () => {
    const random = seeded(8);
    const noise = () => Float32Array.from({ length: 4 * rate }, () => random() - 0.5);
    const [a, b] = [noise(), noise()];
    const loss = (channels: Float32Array[]) =>
      monoLossDb(songBands(kernels, { sampleRate: rate, channels })).allDb;
    expect(loss([a, a])).toBeCloseTo(0, 6);
    expect(loss([a, b])).toBeCloseTo(3.01, 1);
    expect(loss([a, a.map((x) => -x)])).toBeGreaterThan(50);
  });

  test('a small box pumps when it is loud, not at talk-over level', () => {
    const box = placeOf('wireless-box');
    const loud = effectIn(withBass(0.5), box, 82).protection;
    expect(loud.deepestDb).toBeGreaterThan(6);
    expect(loud.movementDbPerSecond).toBeGreaterThan(3);
    expect(effectIn(withBass(0.5), box, 45).protection.deepestDb).toBe(0);
  });

  test('a lift at 3 kHz is harsh', () => {
    const response = [
      { hertz: 1500, db: 0 },
      { hertz: 2500, db: 12 },
      { hertz: 4500, db: 12 },
      { hertz: 7000, db: 0 },
    ];
    expect(effectIn(mix, { ...studio, response }, 70).harshnessPhon).toBeGreaterThan(5);
  });
});

describe('against references', () => {
  const references = [31, 32, 33].map((seed) =>
    seededMix(seed, { sideDb: -8, seconds: 6, sampleRate: rate }),
  );

  test('a song like them is inside; without bass it is named, and the place comes out worse', () => {
    const car = placeOf('car-50');
    const others = references.map((pcm) => effectIn(pcm, car));
    const own = placeAgainst(others[0], others);
    expect(own.every(({ outside }) => outside === 0)).toBe(true);
    const thin = {
      sampleRate: rate,
      channels: references[0].channels.map((channel) => {
        let slow = 0;
        return channel.map((x) => {
          slow += 0.04 * (x - slow);
          return x - slow;
        });
      }),
    };
    const figures = placeAgainst(effectIn(thin, car), others);
    expect(figures[0].outside).not.toBe(0);
    const low = figures.filter(({ name }) => /-(low|lowMid)$/.test(name));
    expect(low.some(({ outside }) => outside < -1)).toBe(true);
    expect(severity(figures)).toBeGreaterThan(severity(own));
  });

  test('what only one of three references tells of is no measure', () => {
    const car = placeOf('car-50');
    const others = references.map((pcm) => effectIn(pcm, car));
    const song = {
      ...others[0],
      bands: others[0].bands.map((band) => ({
        ...band,
        balanceShiftPhon: (band.balanceShiftPhon ?? 0) - 30,
      })),
    };
    const balance = (figures: readonly PlaceFigure[]) => figures.find(({ name }) => name === 'balance-mid')!;
    const hardlyHeard = (effect: PlaceEffect) => ({
      ...effect,
      bands: effect.bands.map((band) => ({ ...band, heardShare: 0.2 })),
    });
    expect(balance(placeAgainst(song, others)).outside).toBeLessThan(-1);
    const [first, ...rest] = others;
    expect(balance(placeAgainst(song, [first, ...rest.map(hardlyHeard)]))).toMatchObject({
      outside: 0,
      references: { count: 1 },
    });
  });
});

test('all places at both levels, and silence is no fault', () => {
  const effects = effectsInPlaces(bands, builtInPlaces);
  expect(effects.map(({ placeId }) => placeId)).toEqual(builtInPlaces.map(({ id }) => id));
  for (const { talkOver, loud } of effects) {
    expect(talkOver!.meanSone).toBeLessThan(loud!.meanSone);
    for (const value of [talkOver!, loud!].flatMap((e) => [
      e.meanSone,
      e.harshnessPhon,
      e.lostShare,
      ...e.levelsDb,
    ]))
      expect(Number.isFinite(value)).toBe(true);
  }
  const silence = songBands(kernels, { sampleRate: rate, channels: [new Float32Array(rate)] });
  expect(effectsInPlaces(silence, builtInPlaces.slice(0, 2))[0].talkOver).toBeNull();
});

describe('the lead', () => {
  const random = seeded(14);
  const voice = Float32Array.from({ length: 4 * rate }, (_, n) => {
    const syllable = Math.max(0, Math.sin((2 * Math.PI * 2.5 * n) / rate));
    return 0.2 * syllable * (random() - 0.5);
  });
  const lead = songBands(kernels, { sampleRate: rate, channels: [voice] });
  const band = (gain: number) =>
    songBands(kernels, {
      sampleRate: rate,
      channels: [1, 2].map((side) => {
        const own = seeded(50 + side);
        return Float32Array.from({ length: 4 * rate }, () => gain * (own() - 0.5));
      }),
    });

  test('gets through less the louder the rest and the noise are', () => {
    const place = placeOf('kitchen-radio');
    const gain = powerGainFor(lead, place, 62)!;
    const at = (rest: number, noiseDba = 40) =>
      leadIntelligibility(
        lead,
        band(rest),
        { ...place, noise: { ...place.noise!, levelDba: noiseDba } },
        gain,
      )!;
    expect(at(0.001).overAll.index).toBeGreaterThan(0.6);
    expect(at(0.05).overAll.index).toBeLessThan(at(0.01).overAll.index);
    expect(at(0.5).overAll.index).toBeLessThan(0.2);
    expect(at(0.01, 70).overNoise.index).toBeLessThan(at(0.01, 50).overNoise.index);
    expect(at(0.01).activeShare).toBeGreaterThan(0.3);
    expect(at(0.01).activeShare).toBeLessThan(0.8);
  });

  test('what stands in the middle is taken for it', () => {
    const sides = [1, 2].map((side) => {
      const own = seeded(60 + side);
      return voice.map((x) => x + 0.05 * (own() - 0.5));
    });
    const split = splitMiddle(songBands(kernels, { sampleRate: rate, channels: sides }));
    const sum = (x: Float32Array) => x.reduce((all, power) => all + power, 0);
    expect(sum(split.lead.left) / sum(lead.left)).toBeCloseTo(1, 1);
    expect(sum(split.others.left)).toBeLessThan(0.5 * sum(split.lead.left));
  });
});
