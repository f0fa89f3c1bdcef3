import { expect, test } from 'vitest';
import { microphoneCurve, placeOfMeasurement } from '../../src/places/measured-place.ts';
import { placeSchema } from '../../src/places/place.ts';
import { bandCentresHz, curveDb } from '../../src/places/place-curve.ts';
import { measureWithReference } from '../../src/places/reference-measure.ts';
import { instantiateKernels } from '../../src/signal/kernels.ts';
import { seededMix } from '../seeded-sound.ts';
import { virtualRoom } from './virtual-room.ts';

const rate = 32000;
const kernels = instantiateKernels();
const song = seededMix(77, { sideDb: -60, seconds: 10, sampleRate: rate });
const choice = {
  id: 'my-kitchen',
  name: 'My kitchen',
  layout: { kind: 'mono' },
  noiseDba: 45,
  talkOverDba: 62,
  loudDba: 75,
} as const;

test('from a known song playing in seeded rooms: within 1.5 dB wherever it is sure', () => {
  let [sure, all] = [0, 0];
  for (let seed = 0; seed < 6; seed++) {
    const room = virtualRoom(seed, song);
    if (room.kind.overNoiseDb < 18) continue;
    const measured = measureWithReference(kernels, room.recording, song)!;
    expect(Math.abs(measured.startSeconds * rate - room.start)).toBeLessThan(60);
    const used = measured.bands
      .slice(0, room.bandsDb.length)
      .flatMap((band, b) =>
        band.centreHz > 60 && band.centreHz < 13000 ? [{ band, off: (band.db ?? 0) - room.bandsDb[b] }] : [],
      );
    all += used.length;
    const known = used.filter(({ band }) => band.sure);
    sure += known.length;
    const middle = known.map(({ off }) => off).sort((a, b) => a - b)[known.length >> 1];
    for (const { band, off } of known)
      expect(
        Math.abs(off - middle),
        `room ${seed} ${JSON.stringify(room.kind)} ${band.centreHz} Hz`,
      ).toBeLessThan(1.5);
  }
  expect(sure / all).toBeGreaterThan(0.6);
});

test('another song is not found', () => {
  const room = virtualRoom(1, song);
  const other = seededMix(3, { sideDb: -60, seconds: 8, sampleRate: rate });
  expect(measureWithReference(kernels, room.recording, other)).toBeNull();
});

test('a place out of a measurement has its form, its curve where it is sure, and falls beyond', () => {
  const bands = bandCentresHz.map((centreHz, i) => ({
    centreHz,
    db: Math.sin(i),
    sure: centreHz > 90 && centreHz < 9000,
  }));
  const place = placeOfMeasurement({ bands }, choice)!;
  expect(placeSchema.parse(place)).toEqual(place);
  expect(curveDb(place.response, bandCentresHz[17])).toBeCloseTo(Math.sin(17), 6);
  expect(curveDb(place.response, 50)).toBeLessThan(curveDb(place.response, 100) - 8);
  expect(placeOfMeasurement({ bands: bands.slice(0, 9) }, choice)).toBeNull();
});

test('microphone files: comments, commas, three columns, Windows line ends', () => {
  const text = '"Sens Factor =-1.2dB"\r\n* note\r\n20.0\t-1.5\t0\r\n1000, 0.0\r\n20000; 2.5\r\n';
  expect(microphoneCurve(text)).toEqual([
    { hertz: 20, db: -1.5 },
    { hertz: 1000, db: 0 },
    { hertz: 20000, db: 2.5 },
  ]);
  expect(microphoneCurve('nothing here')).toBeNull();
});
