import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { weightingFilters } from '../../src/hearing/frequency-weighting.ts';
import { builtInPlaces, studio } from '../../src/places/built-in-places.ts';
import { minimumPhaseTaps } from '../../src/places/minimum-phase.ts';
import { partitionFrames } from '../../src/places/partitioned-filter.ts';
import { type Place, placeSchema } from '../../src/places/place.ts';
import { bandGains, curveDb, noisePowers } from '../../src/places/place-curve.ts';
import { powerGainFor } from '../../src/places/place-level.ts';
import { PlaceLimits } from '../../src/places/place-limits.ts';
import { PlaceProcessor, type PlaceSettings } from '../../src/places/place-processor.ts';
import { songBandCount, songBands } from '../../src/places/song-bands.ts';
import type { Biquad } from '../../src/signal/k-weighting.ts';
import { instantiateKernels } from '../../src/signal/kernels.ts';
import { seeded, seededMix } from '../seeded-sound.ts';

const rate = 48000;
const quiet: PlaceSettings = {
  fullScaleDb: 60,
  playedOn: 'loudspeakers',
  monitorFullScaleDb: null,
  noise: false,
};
const placeOf = (id: string) => builtInPlaces.find((place) => place.id === id)!;

function play(
  place: Place,
  settings: PlaceSettings,
  left: Float32Array,
  right = left,
  cuts?: readonly number[],
) {
  const processor = new PlaceProcessor(place, settings, rate);
  const out = [new Float32Array(left.length), new Float32Array(left.length)];
  let at = 0;
  for (let i = 0; at < left.length; i++) {
    const end = Math.min(left.length, at + (cuts ? cuts[i % cuts.length] : left.length));
    processor.process(
      left.subarray(at, end),
      right.subarray(at, end),
      out[0].subarray(at, end),
      out[1].subarray(at, end),
    );
    at = end;
  }
  return out;
}

/** Gain of taps at a frequency, dB, by its definition. */
function gainDb(taps: ArrayLike<number>, hertz: number): number {
  let [re, im] = [0, 0];
  for (let n = 0; n < taps.length; n++) {
    re += taps[n] * Math.cos((2 * Math.PI * hertz * n) / rate);
    im += taps[n] * Math.sin((2 * Math.PI * hertz * n) / rate);
  }
  return 20 * Math.log10(Math.hypot(re, im));
}

const meanSquare = (x: ArrayLike<number>, from = 0) => {
  let sum = 0;
  for (let n = from; n < x.length; n++) sum += x[n] * x[n];
  return sum / (x.length - from);
};

test.for(builtInPlaces.map((place) => [place.id, place] as const))(
  '%s has the form of a place',
  ([, place]) => {
    expect(placeSchema.parse(place)).toEqual(place);
  },
);

describe('a place as sound', () => {
  test.for(['phone', 'television', 'car-parked', 'club', 'kitchen-radio'])(
    '%s has the response of its points',
    (id) => {
      const place = placeOf(id);
      const impulse = new Float32Array(8192);
      impulse[0] = 1;
      const [out] = play({ ...place, protection: null, maximumDb: 140 }, quiet, impulse);
      for (const { hertz, db } of place.response) {
        if (db < -45 || hertz < 28) continue;
        // A bend at the point itself is rounded by the length of the filter, more where it is low.
        expect(Math.abs(gainDb(out, hertz) - db), `${hertz} Hz`).toBeLessThan(hertz < 100 ? 1 : 0.5);
      }
    },
  );

  test('is minimum phase: the zero-phase check of a first-order low-pass against its textbook impulse response', () => {
    const corner = 1000;
    const curve = Array.from({ length: 400 }, (_, i) => {
      const hertz = 10 * 2 ** (i / 35.6);
      const keep = Math.exp((-2 * Math.PI * corner) / rate);
      const w = (2 * Math.PI * hertz) / rate;
      return {
        hertz,
        db: 20 * Math.log10((1 - keep) / Math.hypot(1 - keep * Math.cos(w), keep * Math.sin(w))),
      };
    }).filter(({ hertz }) => hertz <= 24000);
    const taps = minimumPhaseTaps(curve, rate, 2048);
    const keep = Math.exp((-2 * Math.PI * corner) / rate);
    for (let n = 0; n < 60; n++) expect(Math.abs(taps[n] - (1 - keep) * keep ** n)).toBeLessThan(2e-4);
  });

  test('comes out the same, bit for bit, however it is cut', () => {
    const { channels } = seededMix(3, { sideDb: -6, seconds: 0.4, sampleRate: rate });
    const loud: PlaceSettings = {
      ...quiet,
      fullScaleDb: 95,
      monitorFullScaleDb: 85,
      noise: true,
      playedOn: 'headphones',
    };
    const places = [placeOf('wireless-box'), placeOf('car-110')];
    const whole = places.map((place) => play(place, loud, channels[0], channels[1]));
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 3000 }), { minLength: 1, maxLength: 6 }), (cuts) => {
        places.forEach((place, i) => {
          const cut = play(place, loud, channels[0], channels[1], cuts);
          expect(cut[0]).toEqual(whole[i][0]);
          expect(cut[1]).toEqual(whole[i][1]);
        });
      }),
      { numRuns: 8, seed: 4 },
    );
  });

  test('is late by what it says', () => {
    const impulse = new Float32Array(2048);
    impulse[100] = 1;
    const [out] = play({ ...studio, response: [{ hertz: 1000, db: 0 }] }, quiet, impulse);
    expect(out.indexOf(Math.max(...out))).toBe(100 + partitionFrames);
    expect(out[100 + partitionFrames]).toBeCloseTo(1, 4);
  });

  test('mono adds the sides, narrow keeps some, headphones keep them apart', () => {
    const random = seeded(9);
    const noise = Float32Array.from({ length: 20000 }, () => random() - 0.5);
    const opposite = noise.map((x) => -x);
    const flat = (layout: Place['layout']): Place => ({
      ...studio,
      response: [{ hertz: 1000, db: 0 }],
      layout,
    });
    expect(meanSquare(play(flat({ kind: 'mono' }), quiet, noise, opposite)[0])).toBeLessThan(1e-12);
    const narrow = meanSquare(play(flat({ kind: 'narrow', sideDb: -4 }), quiet, noise, opposite)[0], 300);
    expect(10 * Math.log10(narrow / meanSquare(noise))).toBeCloseTo(-4, 1);
    const [left, right] = play(flat({ kind: 'headphones' }), quiet, noise, new Float32Array(noise.length));
    expect(meanSquare(left)).toBeGreaterThan(0.01);
    expect(meanSquare(right)).toBe(0);
  });

  test('on headphones the far ear gets a loudspeaker later by Woodworth’s formula and duller', () => {
    const impulse = new Float32Array(4096);
    impulse[0] = 1;
    const [near, far] = play(
      { ...studio, response: [{ hertz: 1000, db: 0 }] },
      { ...quiet, playedOn: 'headphones' },
      impulse,
      new Float32Array(4096),
    );
    const angle = Math.PI / 6;
    const delay = (0.0875 / 343) * (angle + Math.sin(angle)) * rate;
    const centre = (x: Float32Array) =>
      x.reduce((sum, v, n) => sum + n * v * v, 0) / x.reduce((sum, v) => sum + v * v, 0);
    expect(Math.abs(centre(far) - centre(near) - delay)).toBeLessThan(3);
    expect(gainDb(near, 8000) - gainDb(far, 8000)).toBeGreaterThan(6);
    expect(Math.abs(gainDb(near, 60) - gainDb(far, 60))).toBeLessThan(0.5);
  });
});

test('the noise of a place is as loud as it says, A-weighted, to 0.3 dB', () => {
  for (const id of ['car-110', 'kitchen-radio']) {
    const place = placeOf(id);
    const silence = new Float32Array(4 * rate);
    const [left] = play(place, { ...quiet, monitorFullScaleDb: 90, noise: true }, silence);
    let sound: Float64Array = Float64Array.from(left);
    for (const filter of weightingFilters('A', rate)) sound = filtered(sound, filter);
    expect(Math.abs(10 * Math.log10(meanSquare(sound, rate / 2)) + 90 - place.noise!.levelDba)).toBeLessThan(
      0.3,
    );
  }
});

test('Hoth noise (IEEE 269, ITU-T P.800): the published densities add up to 50 dB(A)', () => {
  const density = [
    32.4, 30.9, 29.1, 27.6, 26, 24.4, 22.7, 21.1, 19.5, 17.8, 16.2, 14.6, 12.9, 11.3, 9.6, 7.8, 5.4, 2.6,
    -1.3, -6.6,
  ];
  const hoth = noisePowers({ ...placeOf('phone').noise!, levelDba: 50 });
  density.forEach((level, i) => {
    const band = 7 + i;
    const hertz = 100 * 10 ** (i / 10);
    const expected = level + 10 * Math.log10(hertz * (10 ** 0.05 - 10 ** -0.05));
    expect(Math.abs(10 * Math.log10(hoth[band]) - expected)).toBeLessThan(0.15);
  });
});

test('what a place does to bands is what it does to sound', () => {
  const random = seeded(11);
  const noise = Float32Array.from({ length: 6 * rate }, () => (random() - 0.5) * 0.2);
  const place = { ...placeOf('laptop'), protection: null };
  const out = play(place, quiet, noise);
  const kernels = instantiateKernels();
  const before = songBands(kernels, { sampleRate: rate, channels: [noise, noise] });
  const after = songBands(kernels, { sampleRate: rate, channels: out });
  const gains = bandGains(place.response);
  for (let b = 4; b < songBandCount; b++) {
    const sum = (bands: Float32Array) =>
      bands.reduce((all, x, i) => (i % songBandCount === b ? all + x : all), 0);
    const measured = 10 * Math.log10(sum(after.left) / sum(before.left));
    const expected = 10 * Math.log10(gains[b]);
    // The skirts of the analysis fill in what falls steeply.
    if (expected > -30)
      expect(Math.abs(measured - expected), `band ${b}`).toBeLessThan(expected < -12 ? 1.2 : 0.6);
  }
});

describe('protection and highest level', () => {
  const box = placeOf('wireless-box');
  const tone = (hertz: number, amplitude: number) =>
    Float32Array.from({ length: 3 * rate }, (_, n) => amplitude * Math.sin((2 * Math.PI * hertz * n) / rate));

  test('bass above the threshold is taken back, the same in bands and in sound', () => {
    for (const over of [-6, 0, 6, 12]) {
      // The tone at 50 Hz lies (50/130) below the corner: 0.6 dB of it is not seen.
      const low = 10 * Math.log10(1 / (1 + (50 / 130) ** 2));
      const level = box.protection!.thresholdDb + over - low;
      const amplitude = Math.SQRT2 * 10 ** ((level - 90) / 20);
      const plain = play(
        { ...box, protection: null, maximumDb: 140 },
        { ...quiet, fullScaleDb: 90 },
        tone(50, amplitude),
      );
      const held = play({ ...box, maximumDb: 140 }, { ...quiet, fullScaleDb: 90 }, tone(50, amplitude));
      const sound = 10 * Math.log10(meanSquare(held[0], 2 * rate) / meanSquare(plain[0], 2 * rate));
      const limits = new PlaceLimits({ ...box, maximumDb: 140 }, 0.0427);
      const powers = new Float64Array(songBandCount);
      for (let i = 0; i < 100; i++) {
        powers.fill(0);
        powers[4] = 10 ** (0.1 * level);
        limits.apply(powers);
      }
      const bands = 10 * Math.log10(powers[4] / 10 ** (0.1 * level) / bandGains(box.response)[4]);
      expect(Math.abs(sound - bands), `${over} dB over: ${sound} and ${bands}`).toBeLessThan(1);
      if (over <= -6) expect(sound).toBeCloseTo(0, 1);
      else if (over > 0) expect(sound).toBeLessThan(-over / 2);
    }
  });

  test('no place gets louder than its highest level', () => {
    const amplitude = Math.SQRT2 * 10 ** ((100 - 90) / 20);
    const [left] = play(box, { ...quiet, fullScaleDb: 90 }, tone(1000, amplitude));
    expect(Math.abs(10 * Math.log10(meanSquare(left, rate)) + 90 - box.maximumDb)).toBeLessThan(0.5);
  });
});

test('the level asked for is the level reached, A-weighted', () => {
  const pcm = seededMix(5, { sideDb: -8, seconds: 4, sampleRate: rate });
  const bands = songBands(instantiateKernels(), pcm);
  const place = placeOf('closed-headphones');
  const gain = powerGainFor(bands, place, 62)!;
  const out = play(place, quiet, pcm.channels[0], pcm.channels[1]);
  const weighted = out.map((channel) =>
    weightingFilters('A', rate).reduce<Float64Array>(
      (x, filter) => filtered(x, filter),
      Float64Array.from(channel),
    ),
  );
  const mean = (meanSquare(weighted[0]) + meanSquare(weighted[1])) / 2;
  expect(Math.abs(10 * Math.log10(mean * gain) - 62)).toBeLessThan(0.3);
});

test('every curve reads as its points, and straight over log frequency between them', () => {
  const curve = [
    { hertz: 100, db: -10 },
    { hertz: 400, db: 10 },
  ];
  expect(curveDb(curve, 20)).toBe(-10);
  expect(curveDb(curve, 200)).toBeCloseTo(0, 9);
  expect(curveDb(curve, 9000)).toBe(10);
});

function filtered(x: Float64Array, { b0, b1, b2, a1, a2 }: Biquad): Float64Array {
  let [s1, s2] = [0, 0];
  return x.map((v) => {
    const y = b0 * v + s1;
    s1 = b1 * v - a1 * y + s2;
    s2 = b2 * v - a2 * y;
    return y;
  });
}
