import { carShape, hothShape, quietShape, speechShape } from './noise-shapes.ts';
import type { Curve, Place } from './place.ts';

/** Hertz and decibels, one pair after the other. */
function curve(...values: readonly number[]): Curve {
  return values.flatMap((hertz, i) => (i % 2 === 0 ? [{ hertz, db: values[i + 1] }] : []));
}

const assumed = (note: string) => ({ source: 'place-assumption', note });
const talk = 'what people talk over: normal speech at 1 m is 62 dB SPL, 59 dB(A)';
const spoken = {
  source: 'ansi-s3-5',
  note: `${talk}; how far over that music is set, and what is loud there, are assumed`,
};
const roomHush = {
  source: 'who-noise',
  note: 'a dwelling by day, guideline 35 dB(A); the shape of Hoth noise is assumed for it',
};
const together = assumed('both sides come from one spot');

/** What most places have: no protection to speak of, no wireless coding, sound from ahead. */
const plain = { field: 'free', protection: null, wireless: false } as const;

const carResponse = curve(
  ...[20, -4, 30, 3, 45, 6, 70, 6, 100, 4, 160, 1, 250, -2, 400, -1, 1000, 0, 2500, 0, 5000, -1],
  ...[8000, -3, 12000, -5, 16000, -9, 20000, -15],
);
const carSources = {
  response: {
    source: 'car-cabin',
    note: 'a closed cabin lifts what lies under 66 to 87 Hz by up to 12 dB an octave; that a small system makes +6 dB of it, and all above, are assumed',
  },
  layout: assumed('door loudspeakers; the near one 60 degrees off counts as much as the far one'),
  limits: assumed('a plain factory system'),
  levels: spoken,
};
const car = {
  ...plain,
  response: carResponse,
  layout: { kind: 'stereo', angleDegrees: 50 },
  field: 'diffuse',
  maximumDb: 102,
} as const;

/** Every place that comes with the program, the reference last. Each figure says where it is from; all can be changed. */
export const builtInPlaces: readonly Place[] = [
  {
    ...plain,
    id: 'phone',
    name: 'Phone loudspeaker',
    response: curve(
      ...[20, -70, 100, -50, 200, -33, 400, -16, 700, -4, 900, 1, 1200, 0, 2000, 0, 3000, 3, 5000, 3],
      ...[8000, 0, 12000, -5, 16000, -12, 20000, -20],
    ),
    layout: { kind: 'mono' },
    protection: { belowHz: 900, thresholdDb: 74, attackSeconds: 0.03, releaseSeconds: 0.2 },
    maximumDb: 78,
    noise: { shape: hothShape, levelDba: 40 },
    levels: { talkOverDba: 60, loudDba: 72 },
    sources: {
      response: {
        source: 'microspeaker',
        note: 'resonance of a phone capsule at 700 to 1000 Hz; how it falls below, and all above, are assumed',
      },
      layout: together,
      limits: assumed('an arm’s length away'),
      noise: { source: 'hoth-noise', note: 'shape; 40 dB(A) is assumed' },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'laptop',
    name: 'Laptop',
    response: curve(
      ...[20, -60, 80, -36, 120, -26, 180, -14, 250, -7, 400, -2, 700, 0, 1000, 0, 2500, 2, 4000, 0],
      ...[8000, 2, 12000, 0, 16000, -6, 20000, -14],
    ),
    layout: { kind: 'narrow', sideDb: -4 },
    protection: { belowHz: 300, thresholdDb: 78, attackSeconds: 0.03, releaseSeconds: 0.2 },
    maximumDb: 82,
    noise: { shape: hothShape, levelDba: 40 },
    levels: { talkOverDba: 60, loudDba: 75 },
    sources: {
      response: assumed('small full-range capsules firing down or up'),
      layout: assumed('30 cm apart at arm’s length'),
      limits: assumed('half a metre away'),
      noise: { source: 'hoth-noise', note: 'shape; 40 dB(A) is assumed' },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'tablet',
    name: 'Tablet',
    response: curve(
      ...[20, -66, 100, -42, 200, -22, 300, -8, 450, -3, 630, -1, 1000, 0, 2500, 2, 5000, 1, 8000, 0],
      ...[12000, -3, 16000, -10, 20000, -18],
    ),
    layout: { kind: 'narrow', sideDb: -5 },
    protection: { belowHz: 500, thresholdDb: 76, attackSeconds: 0.03, releaseSeconds: 0.2 },
    maximumDb: 80,
    noise: { shape: hothShape, levelDba: 40 },
    levels: { talkOverDba: 60, loudDba: 74 },
    sources: {
      response: {
        source: 'microspeaker',
        note: 'a ten-inch tablet reaches down to 630 Hz, to 300 Hz with a ported chamber; the rest of the curve is assumed',
      },
      layout: assumed('25 cm apart at arm’s length'),
      limits: assumed('half a metre away'),
      noise: { source: 'hoth-noise', note: 'shape; 40 dB(A) is assumed' },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'television',
    name: 'Television',
    response: curve(
      ...[20, -48, 50, -26, 80, -14, 120, -7, 160, -4, 250, 0, 500, 1, 1000, 0, 2500, 0, 4000, -1],
      ...[8000, -2, 12000, -5, 16000, -10, 20000, -18],
    ),
    layout: { kind: 'narrow', sideDb: -3 },
    protection: { belowHz: 160, thresholdDb: 82, attackSeconds: 0.03, releaseSeconds: 0.3 },
    maximumDb: 88,
    noise: { shape: hothShape, levelDba: 40 },
    levels: { talkOverDba: 60, loudDba: 75 },
    sources: {
      response: assumed(
        '6 dB down between 120 and 200 Hz, from memory; loudspeakers fire away from the listener',
      ),
      layout: assumed('a metre apart, three metres away'),
      limits: assumed('three metres away'),
      noise: { source: 'hoth-noise', note: 'shape; 40 dB(A) is assumed' },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'kitchen-radio',
    name: 'Kitchen radio',
    response: curve(
      ...[20, -50, 50, -26, 80, -14, 110, -6, 150, 0, 220, 3, 400, 1, 1000, 0, 3000, 1, 6000, -2],
      ...[9000, -7, 12000, -14, 16000, -24, 20000, -34],
    ),
    layout: { kind: 'mono' },
    protection: { belowHz: 150, thresholdDb: 80, attackSeconds: 0.03, releaseSeconds: 0.3 },
    maximumDb: 86,
    noise: { shape: hothShape, levelDba: 52 },
    levels: { talkOverDba: 62, loudDba: 75 },
    sources: {
      response: assumed('one wide-band loudspeaker of 8 cm in a small box'),
      layout: together,
      limits: assumed('one to two metres away'),
      noise: {
        source: 'hoth-noise',
        note: 'shape; 52 dB(A) stands for an extractor and dishes (assumption)',
      },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'wireless-box',
    name: 'Small wireless box',
    response: curve(
      ...[20, -40, 40, -20, 60, -6, 80, 2, 110, 4, 180, 2, 300, 0, 1000, 0, 3000, 2, 6000, 0, 10000, 0],
      ...[14000, -4, 17000, -12, 20000, -24],
    ),
    layout: { kind: 'mono' },
    protection: { belowHz: 130, thresholdDb: 72, attackSeconds: 0.03, releaseSeconds: 0.4 },
    maximumDb: 88,
    wireless: true,
    noise: { shape: hothShape, levelDba: 48 },
    levels: { talkOverDba: 62, loudDba: 80 },
    sources: {
      response: assumed('driven far below the resonance of its loudspeaker by an equaliser'),
      layout: together,
      limits: assumed('its bass gives way first as it is turned up'),
      noise: { source: 'hoth-noise', note: 'shape; 48 dB(A) is assumed' },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'earbuds',
    name: 'Cheap earbuds on the street',
    response: curve(
      ...[20, -10, 40, -3, 70, 2, 120, 4, 250, 2, 500, 0, 1000, 0, 2000, 1, 3000, 5, 4500, 2, 6000, -3],
      ...[8500, 4, 11000, -3, 16000, -12, 20000, -20],
    ),
    layout: { kind: 'headphones' },
    maximumDb: 104,
    wireless: true,
    noise: { shape: hothShape, levelDba: 58 },
    levels: { talkOverDba: 62, loudDba: 80 },
    sources: {
      response: assumed('loose fit, peaks of the ear canal left as they are'),
      layout: assumed('one in each ear'),
      limits: assumed('a small player'),
      noise: { source: 'hoth-noise', note: 'shape; 58 dB(A) is assumed for a street, nothing kept out' },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'closed-headphones',
    name: 'Closed headphones',
    response: curve(
      ...[20, 0, 40, 3, 100, 3, 200, 1, 500, 0, 1000, 0, 2000, -1, 3500, 0, 5000, -3, 8000, 1, 12000, -1],
      ...[16000, -4, 20000, -8],
    ),
    layout: { kind: 'headphones' },
    maximumDb: 110,
    noise: { shape: quietShape, levelDba: 25 },
    levels: { talkOverDba: 62, loudDba: 80 },
    sources: {
      response: assumed('against an even diffuse-field response'),
      layout: assumed('one at each ear'),
      limits: assumed('a good amplifier'),
      noise: assumed('a room of 35 dB(A), 10 dB kept out'),
      levels: spoken,
    },
  },
  {
    ...car,
    id: 'car-parked',
    name: 'Small car, parked',
    noise: { shape: quietShape, levelDba: 33 },
    levels: { talkOverDba: 62, loudDba: 82 },
    sources: { ...carSources, noise: assumed('a quiet street, windows shut') },
  },
  {
    ...car,
    id: 'car-50',
    name: 'Small car at 50 km/h',
    noise: { shape: carShape, levelDba: 60 },
    levels: { talkOverDba: 64, loudDba: 82 },
    sources: {
      ...carSources,
      noise: {
        source: 'car-noise',
        note: '58 to 62 dB(A) at 50 km/h, falling 6 to 9 dB an octave above 100 Hz; the middle of both is assumed',
      },
    },
  },
  {
    ...car,
    id: 'car-110',
    name: 'Small car at 110 km/h',
    noise: { shape: carShape, levelDba: 69 },
    levels: { talkOverDba: 65, loudDba: 84 },
    sources: {
      ...carSources,
      noise: {
        source: 'car-noise',
        note: '66 to 72 dB(A) at 110 to 130 km/h, falling 6 to 9 dB an octave above 100 Hz; the middle of both is assumed',
      },
    },
  },
  {
    ...plain,
    id: 'living-room',
    name: 'Living-room stereo',
    response: curve(
      ...[20, -22, 30, -11, 40, -5, 55, 0, 80, 3, 120, 1, 200, -1, 400, 0, 1000, 0, 4000, -1, 8000, -2],
      ...[12000, -3, 16000, -4, 20000, -7],
    ),
    layout: { kind: 'stereo', angleDegrees: 28 },
    maximumDb: 100,
    noise: { shape: hothShape, levelDba: 35 },
    levels: { talkOverDba: 62, loudDba: 80 },
    sources: {
      response: assumed('a two-way shelf loudspeaker, 6 dB down at 40 to 50 Hz near a wall'),
      layout: assumed('a triangle a little narrower than in the studio'),
      limits: assumed('a middling amplifier'),
      noise: roomHush,
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'home-theatre',
    name: 'Home theatre',
    response: curve(
      ...[20, 0, 28, 4, 45, 6, 70, 5, 100, 2, 150, -1, 250, 0, 1000, 0, 4000, 0, 8000, -1, 12000, -2],
      ...[16000, -3, 20000, -6],
    ),
    layout: { kind: 'stereo', angleDegrees: 25 },
    maximumDb: 105,
    noise: { shape: hothShape, levelDba: 35 },
    levels: { talkOverDba: 62, loudDba: 82 },
    sources: {
      response: assumed('a subwoofer turned up a little'),
      layout: assumed('front pair beside a screen'),
      limits: assumed('satellites and a subwoofer'),
      noise: roomHush,
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'club',
    name: 'Club sound system',
    response: curve(
      ...[20, -12, 30, 0, 40, 6, 60, 9, 90, 8, 130, 4, 200, 1, 500, 0, 1000, 0, 4000, 0, 8000, -2],
      ...[12000, -5, 16000, -9, 20000, -16],
    ),
    layout: { kind: 'mono' },
    field: 'diffuse',
    maximumDb: 118,
    noise: { shape: speechShape, levelDba: 62 },
    levels: { talkOverDba: 75, loudDba: 97 },
    sources: {
      response: assumed('horns and subwoofers, bass turned up, 10 m away'),
      layout: assumed('off the middle of the floor both sides carry much the same'),
      limits: assumed('far more than is ever used'),
      noise: { source: 'ansi-s3-5', note: 'shape of speech; 62 dB(A) of guests is assumed' },
      levels: assumed('75 dB(A) before the floor fills, 97 dB(A) later'),
    },
  },
  {
    ...plain,
    id: 'shop-ceiling',
    name: 'Shop ceiling loudspeaker',
    response: curve(
      ...[20, -52, 50, -30, 80, -16, 110, -8, 160, -2, 250, 1, 500, 1, 1000, 0, 3000, 0, 5000, -2],
      ...[8000, -6, 12000, -13, 16000, -22, 20000, -32],
    ),
    layout: { kind: 'mono' },
    field: 'diffuse',
    maximumDb: 92,
    noise: { shape: speechShape, levelDba: 55 },
    levels: { talkOverDba: 60, loudDba: 70 },
    sources: {
      response: assumed('a loudspeaker of 16 cm on a line transformer, heard off its axis'),
      layout: together,
      limits: assumed('a 6 W tap three metres up'),
      noise: { source: 'ansi-s3-5', note: 'shape of speech; 55 dB(A) of customers is assumed' },
      levels: spoken,
    },
  },
  {
    ...plain,
    id: 'studio',
    name: 'Good studio',
    response: curve(20, -6, 28, 0, 20000, 0),
    layout: { kind: 'stereo', angleDegrees: 30 },
    maximumDb: 115,
    noise: { shape: quietShape, levelDba: 20 },
    levels: { talkOverDba: 62, loudDba: 82 },
    sources: {
      response: assumed('even from 28 Hz up: the reference that all other places are told against'),
      layout: assumed('the usual triangle of 60 degrees'),
      limits: assumed('more than is needed'),
      noise: assumed('a quiet room'),
      levels: {
        source: 'ansi-s3-5',
        note: `${talk}; 62 dB(A) for talk-over is assumed, 82 dB(A) for loud is about the level of listening tests in ITU-R BS.1116 (from memory)`,
      },
    },
  },
];

/** The place that the balance elsewhere is compared with. */
export const studio: Place = builtInPlaces[builtInPlaces.length - 1];
