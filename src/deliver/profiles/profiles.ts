import type { DeliveryProfile } from './profile.ts';

/** Two honest readings of a true peak differ by this much, dB. */
const readingSlackDb = 0.1;
const fullScale = { dbtp: 0, slackDb: readingSlackDb, source: 'full-scale' } as const;
const plain = {
  lossy: null,
  loudness: null,
  survive: null,
  bext: false,
  gridFrames: 1,
  wantsCodes: false,
} as const;

export const deliveryProfiles = [
  {
    ...plain,
    id: 'hi-res',
    name: 'Hi-res master',
    about: 'The record as it was finished: 24 bit, at the rate it was made at, with nothing taken away.',
    shape: 'songs',
    container: 'WAV',
    sampleRate: 'native',
    bits: 24,
    ceiling: fullScale,
    bext: true,
    wantsCodes: true,
  },
  {
    ...plain,
    id: 'streaming',
    name: 'Streaming master',
    about:
      'What an aggregator codes from: 24-bit FLAC under −1 dBTP that is really coded once, to see that it survives.',
    shape: 'songs',
    container: 'FLAC',
    sampleRate: 'native',
    bits: 24,
    ceiling: { dbtp: -1, slackDb: readingSlackDb, source: 'ebu-r-128' },
    survive: { formatIds: ['aac-256'], limitDbtp: 0 },
    wantsCodes: true,
  },
  {
    ...plain,
    id: 'cd',
    name: 'Compact disc',
    about:
      'The image a disc is pressed from: 16 bit at 44.1 kHz with dither, in whole sectors, and its cue sheet.',
    shape: 'image',
    container: 'WAV',
    sampleRate: 44_100,
    bits: 16,
    ceiling: fullScale,
    gridFrames: 588,
    wantsCodes: true,
  },
  {
    ...plain,
    id: 'vinyl',
    name: 'Vinyl pre-master',
    about: 'What a lacquer is cut from: one 24-bit file a side, no limiting, with cautions for the cut.',
    shape: 'sides',
    container: 'WAV',
    sampleRate: 'native',
    bits: 24,
    ceiling: { dbtp: -1, slackDb: readingSlackDb, source: 'vinyl-practice' },
  },
  {
    ...plain,
    id: 'broadcast',
    name: 'Broadcast, EBU R 128',
    about: 'For radio and television in Europe: −23 LUFS, −1 dBTP, 48 kHz, 24-bit BWF.',
    shape: 'songs',
    container: 'WAV',
    sampleRate: 48_000,
    bits: 24,
    ceiling: { dbtp: -1, slackDb: 0.3, source: 'ebu-r-128' },
    loudness: { lufs: -23, toleranceLu: 0.2, source: 'ebu-r-128' },
    bext: true,
  },
  {
    ...plain,
    id: 'preview-mp3',
    name: 'Preview, MP3',
    about: 'To send round before the release: MP3 at 192 kb/s.',
    shape: 'songs',
    container: 'MP3',
    sampleRate: 44_100,
    bits: null,
    lossy: { codec: 'mp3', nominalKbps: 192 },
    ceiling: { dbtp: -1, slackDb: readingSlackDb, source: 'ebu-r-128' },
  },
  {
    ...plain,
    id: 'preview-aac',
    name: 'Preview, AAC',
    about: 'To send round before the release: AAC at 192 kb/s.',
    shape: 'songs',
    container: 'MP4',
    sampleRate: 44_100,
    bits: null,
    lossy: { codec: 'aac', nominalKbps: 192 },
    ceiling: { dbtp: -1, slackDb: readingSlackDb, source: 'ebu-r-128' },
  },
  {
    ...plain,
    id: 'aiff',
    name: 'Master, AIFF',
    about: 'The hi-res master in the other container.',
    shape: 'songs',
    container: 'AIFF',
    sampleRate: 'native',
    bits: 24,
    ceiling: fullScale,
  },
  {
    ...plain,
    id: 'variants',
    name: 'Instrumental and clean variants',
    about: 'What each song has besides itself, as 24-bit WAV.',
    shape: 'variants',
    container: 'WAV',
    sampleRate: 'native',
    bits: 24,
    ceiling: fullScale,
    bext: true,
  },
  {
    ...plain,
    id: 'stems',
    name: 'Stems',
    about: 'A folder for each song with its stems, all of one length, 24-bit WAV.',
    shape: 'stems',
    container: 'WAV',
    sampleRate: 'native',
    bits: 24,
    ceiling: fullScale,
    bext: true,
  },
] as const satisfies readonly DeliveryProfile[];

export type DeliveryProfileId = (typeof deliveryProfiles)[number]['id'];

/** Ids in the order in which the profiles are offered. */
export const deliveryProfileIds = deliveryProfiles.map(({ id }) => id) as [
  DeliveryProfileId,
  ...DeliveryProfileId[],
];

export function deliveryProfileOf(id: DeliveryProfileId): DeliveryProfile {
  // Every DeliveryProfileId is an id of the list it is derived from.
  return deliveryProfiles.find((profile) => profile.id === id) as DeliveryProfile;
}
