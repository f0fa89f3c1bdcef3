import { bandName } from './bands.ts';
import { cell, type FigureGroup } from './figure.ts';

const percent = (share: number | null): number | null => (share === null ? null : 100 * share);

/** Share of the song from which a loudness gets a row; the plots show every one. */
const leastShare = 0.005;

const limitingWords = { none: 'no trace of limiting', some: 'some limiting', much: 'much limiting' } as const;

export const dynamicsGroup: FigureGroup = {
  id: 'dynamics',
  title: 'Dynamics',
  figures: [
    {
      label: 'PSR, middle',
      unit: 'dB',
      meaning: 'Peak of three seconds over their loudness: the middle value over the song. Less is flatter.',
      read: ({ dynamics }) => dynamics.psrMedianDb,
    },
    {
      label: 'PSR, lowest',
      unit: 'dB',
      main: true,
      meaning: 'The same where the song is squeezed most.',
      read: ({ dynamics }) => dynamics.psrMinDb,
    },
    {
      label: 'Spread of level',
      unit: 'dB',
      meaning: 'From quiet to loud passages: 10th to 95th percentile of the level of three seconds.',
      read: ({ dynamics }) => dynamics.rmsSpreadDb,
    },
    {
      label: 'Hits',
      unit: '/s',
      meaning: 'Onsets of notes and drums a second (heuristic).',
      read: ({ dynamics }) => dynamics.onsetsPerSecond,
    },
    {
      label: 'Peaks at the top',
      unit: '%',
      meaning:
        'Share of the moments (10 ms) whose peak lies within 1 dB of the highest; a limiter lines peaks up there.',
      read: ({ dynamics }) => percent(dynamics.topShare),
    },
    {
      label: 'Edge of the peaks',
      unit: 'dB',
      digits: 2,
      meaning:
        'How many more peaks lie within 1 dB of the highest than 1 to 2 dB under it; high where a limiter cut them to one level (heuristic).',
      read: ({ dynamics }) => dynamics.edgeDb,
    },
    {
      label: 'Flat tops',
      unit: '',
      meaning:
        'Tops of the waveform near the highest level that are flat, as limiting and soft clipping leave them (heuristic).',
      read: ({ dynamics }) => dynamics.flatTopCount,
    },
    {
      label: 'Flat of all tops',
      unit: '%',
      meaning: 'Their share of the tops near the highest level.',
      read: ({ dynamics }) => percent(dynamics.flatTopShare),
    },
    {
      label: 'Centre of the low end',
      unit: 'Hz',
      digits: 0,
      meaning: 'Where the power between 20 and 150 Hz is centred.',
      read: ({ lowEnd }) => lowEnd.centreHz,
    },
    {
      label: 'Walk of the low end',
      unit: 'octaves',
      digits: 2,
      meaning: 'How far that centre moves: 0.6 for a bass line that walks a fifth.',
      read: ({ lowEnd }) => lowEnd.centreSpreadOctaves,
    },
    {
      label: 'Spread of the low end',
      unit: 'dB',
      meaning: 'How far its level moves while it is there; small is steady.',
      read: ({ lowEnd }) => lowEnd.levelSpreadDb,
    },
    {
      label: 'Low end there',
      unit: '%',
      digits: 0,
      meaning: 'Share of the song in which there is a low end at all (heuristic).',
      read: ({ lowEnd }) => percent(lowEnd.presentShare),
    },
  ],
  tables: [
    {
      title: 'Crest by band',
      columns: [
        { head: 'Band', align: 'left' },
        { head: 'Crest', unit: 'dB', align: 'right' },
      ],
      rows: ({ dynamics }) => dynamics.crestBands.map((band) => [bandName(band), cell(band.crestDb)]),
    },
    {
      title: 'How long how loud (less than 0.5 % left out)',
      drawn: true,
      columns: [
        { head: 'Loudness', unit: 'LUFS', align: 'right' },
        { head: 'Share of the song', unit: '%', align: 'right' },
      ],
      rows: ({ dynamics: { loudnessHistogram } }) => {
        const { fromLufs, shares } = loudnessHistogram;
        return fromLufs === null
          ? []
          : shares.flatMap((share, i) =>
              share < leastShare
                ? []
                : [[`${cell(fromLufs + i, '', 0)} to ${cell(fromLufs + i + 1, '', 0)}`, cell(100 * share)]],
            );
      },
    },
  ],
  sought: [
    {
      label: 'Limiting',
      meaning: 'How much limiting the sound has had, as far as its peaks betray it (heuristic).',
      found: ({ dynamics }) =>
        dynamics.limiting === null || dynamics.limiting === 'none' ? null : limitingWords[dynamics.limiting],
      untold: ({ dynamics }) => (dynamics.limiting === null ? 'too short or too quiet to tell' : null),
    },
  ],
};
