import type { Profile, ProfileBounds } from './profile.ts';

/** Limiting in finished songs, whoever plays them (heuristic). */
const usualPlr: ProfileBounds = [
  { severity: 'mend', limit: 7.5, source: 'plr-heuristic' },
  { severity: 'look', limit: 9, source: 'plr-heuristic' },
];
/** A delivery's peak limit: two honest readings differ by 0.1 dB, and R 128 allows its meters 0.3 dB. */
const readingSlackDb = 0.1;
const meterSlackDb = 0.3;

/** A file for broadcast is 48 kHz; delivery sheets ask for 24 bits and some still take 16. */
const broadcastFormat = {
  sampleRatesHz: [48_000],
  bitDepths: [16, 24],
  format: { severity: 'mend', source: 'broadcast-format' },
} as const;

/** Only what is streamed or downloaded as a lossy file is coded by its listener's service. */
const notCoded = { 'lossy-overs': 'look' } as const;

export const profiles = [
  {
    id: 'streaming',
    name: 'Streaming',
    about:
      'Services that play every song at one loudness and code it: AES TD1008 for the level, −1 dBTP for the peaks.',
    ready: 'this can leave the bench',
    loudness: {
      targetLufs: -16,
      louderLu: 6,
      quieterLu: 6,
      by: 'player',
      severity: 'look',
      source: 'aes-td-1008',
    },
    truePeak: [{ severity: 'look', limit: -1, slack: readingSlackDb, source: 'ebu-r-128' }],
    truePeakBy: 'EBU R 128 and AES TD1008',
    plr: usualPlr,
    sampleRatesHz: null,
    bitDepths: null,
    format: { severity: 'look', source: 'iec-60908' },
    weights: {},
  },
  {
    id: 'online-radio',
    name: 'Online radio',
    about:
      'Stations and shows on the net that take files as they are: −20 to −16 LUFS by AES TD1004 and EBU R 128 s2, −1 dBTP.',
    ready: 'this can leave the bench',
    loudness: {
      targetLufs: -18,
      louderLu: 2,
      quieterLu: 2,
      by: 'delivery',
      severity: 'mend',
      source: 'aes-td-1004',
    },
    truePeak: [{ severity: 'mend', limit: -1, slack: readingSlackDb, source: 'aes-td-1004' }],
    truePeakBy: 'AES TD1004 and EBU R 128 s2',
    plr: usualPlr,
    sampleRatesHz: null,
    bitDepths: null,
    format: { severity: 'look', source: 'iec-60908' },
    weights: {},
  },
  {
    id: 'broadcast-r128',
    name: 'Broadcast, EBU R 128',
    about: 'Radio and television in Europe: −23 LUFS and −1 dBTP by EBU R 128, in a 48 kHz file.',
    ready: 'this can leave the bench',
    loudness: {
      targetLufs: -23,
      louderLu: 0.2,
      quieterLu: 0.2,
      by: 'delivery',
      severity: 'mend',
      source: 'ebu-r-128',
    },
    truePeak: [{ severity: 'mend', limit: -1, slack: meterSlackDb, source: 'ebu-r-128' }],
    truePeakBy: 'EBU R 128',
    plr: usualPlr,
    ...broadcastFormat,
    weights: { ...notCoded, 'quiet-file': 'leave' },
  },
  {
    id: 'television-a85',
    name: 'Television, ATSC A/85',
    about: 'Television in North America: −24 LKFS within 2 dB and −2 dBTP by ATSC A/85, in a 48 kHz file.',
    ready: 'this can leave the bench',
    loudness: {
      targetLufs: -24,
      louderLu: 2,
      quieterLu: 2,
      by: 'delivery',
      severity: 'mend',
      source: 'atsc-a-85',
    },
    truePeak: [{ severity: 'mend', limit: -2, slack: readingSlackDb, source: 'atsc-a-85' }],
    truePeakBy: 'ATSC A/85',
    plr: usualPlr,
    ...broadcastFormat,
    weights: { ...notCoded, 'quiet-file': 'leave' },
  },
  {
    id: 'compact-disc',
    name: 'Compact disc',
    about: 'The file a disc is made from: 44.1 kHz and 16 bit by IEC 60908, nothing above full scale.',
    ready: 'this can leave the bench',
    loudness: null,
    truePeak: [{ severity: 'look', limit: 0, source: 'full-scale' }],
    truePeakBy: 'full scale',
    plr: usualPlr,
    sampleRatesHz: [44_100],
    bitDepths: [16],
    format: { severity: 'mend', source: 'iec-60908' },
    weights: { ...notCoded, 'lossy-unchecked': 'leave' },
  },
  {
    id: 'vinyl-premaster',
    name: 'Vinyl pre-master',
    about:
      'The file a lacquer is cut from: open dynamics, peaks left free, 24 bit and no lossy step before. Common practice throughout.',
    ready: 'this can leave the bench',
    loudness: null,
    truePeak: [{ severity: 'look', limit: -1, slack: readingSlackDb, source: 'vinyl-practice' }],
    truePeakBy: 'common practice',
    plr: [
      { severity: 'mend', limit: 7.5, source: 'plr-heuristic' },
      { severity: 'look', limit: 11, source: 'vinyl-practice' },
    ],
    sampleRatesHz: [44_100, 48_000, 88_200, 96_000, 176_400, 192_000],
    bitDepths: [24, 32],
    format: { severity: 'look', source: 'vinyl-practice' },
    weights: { 'lossy-overs': 'leave', 'lossy-unchecked': 'leave', 'lossy-source': 'mend' },
  },
  {
    id: 'mix-for-finishing',
    name: 'Mix for finishing',
    about:
      'A mix on its way to being mastered: room above the peaks, nothing squeezed yet, 24 bit at the rate of the session.',
    ready: 'this mix can be finished',
    loudness: null,
    truePeak: [],
    truePeakBy: '',
    plr: [
      { severity: 'mend', limit: 7.5, source: 'plr-heuristic' },
      { severity: 'look', limit: 10, source: 'mix-practice' },
    ],
    sampleRatesHz: null,
    bitDepths: [24, 32],
    format: { severity: 'look', source: 'mix-practice' },
    // Balance is what finishing is for, and nobody will stream the mix itself.
    weights: {
      'lossy-overs': 'leave',
      'lossy-unchecked': 'leave',
      'lossy-source': 'mend',
      'too-bassy': 'look',
      'too-thin': 'look',
    },
  },
] as const satisfies readonly Profile[];

export type ProfileId = (typeof profiles)[number]['id'];

/** Ids in the order in which the profiles are offered. */
export const profileIds = profiles.map(({ id }) => id) as [ProfileId, ...ProfileId[]];

export function profileOf(id: ProfileId): Profile {
  // Every ProfileId is an id of the list it is derived from.
  return profiles.find((profile) => profile.id === id) as Profile;
}

/** Against what a file is held when nobody says: a mix as a mix, everything else as a release that is streamed. */
export function usualProfileId(kind: 'mix' | 'master' | 'reference'): ProfileId {
  return kind === 'mix' ? 'mix-for-finishing' : 'streaming';
}
