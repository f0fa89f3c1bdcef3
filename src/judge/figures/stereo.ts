import { count, list, size } from '../wording.ts';
import { bandName } from './bands.ts';
import { cell, type FigureGroup } from './figure.ts';

/** Where both ends of a ratio are told as 'all', dB (src/measure/stereo-result.ts). */
const mostDb = 60;

/** A width in dB of side over mid, its ends in words. */
function widthCell(sideToMidDb: number | null): string {
  if (sideToMidDb !== null && sideToMidDb <= -mostDb) return 'mono';
  return cell(sideToMidDb);
}

export const stereoGroup: FigureGroup = {
  id: 'stereo',
  title: 'Stereo',
  absent: ({ stereo }) => (stereo === null ? 'One channel: there is no stereo to measure.' : null),
  figures: [
    {
      label: 'Correlation',
      unit: '',
      digits: 2,
      main: true,
      meaning:
        'How much left and right have in common: 1 the same, 0 nothing, below 0 they work against each other and vanish in mono.',
      read: ({ stereo }) => stereo?.correlation ?? null,
    },
    {
      label: 'Balance',
      unit: 'dB',
      meaning: 'Level of the right side over the left; positive leans right.',
      read: ({ stereo }) => stereo?.balanceDb ?? null,
    },
    {
      label: 'Width',
      unit: 'dB',
      meaning:
        'Level of what differs between the sides over what they share; −60 is mono, 0 nothing in common.',
      read: ({ stereo }) => stereo?.sideToMidDb ?? null,
    },
    {
      label: 'Lost in mono',
      unit: 'dB',
      main: true,
      meaning:
        'Level lost when both sides are added up, as a phone or a club does; 3 dB is what unrelated sides lose.',
      read: ({ stereo }) => stereo?.foldLossDb ?? null,
    },
    {
      label: 'Delay of the right side',
      unit: 'samples',
      digits: 2,
      meaning:
        'By how much the right side comes after the left over the whole song; none where no one delay can be told.',
      read: ({ stereo }) => stereo?.delaySamples ?? null,
    },
  ],
  tables: [
    {
      title: 'By band',
      columns: [
        { head: 'Band', align: 'left' },
        { head: 'Correlation', align: 'right' },
        { head: 'Balance', unit: 'dB', align: 'right' },
        { head: 'Width', unit: 'dB', align: 'right' },
        { head: 'Lost in mono', unit: 'dB', align: 'right' },
      ],
      rows: ({ stereo }) =>
        (stereo?.bands ?? []).map((band) => [
          bandName(band),
          cell(band.correlation, '', 2),
          cell(band.balanceDb),
          widthCell(band.sideToMidDb),
          cell(band.foldLossDb),
        ]),
    },
  ],
  sought: [
    {
      label: 'Same sound on both sides',
      meaning: 'Left and right are one and the same: a mono song in a stereo file.',
      found: ({ stereo }) => (stereo?.identical ? 'left and right are the same' : null),
    },
    {
      label: 'Silent channel',
      meaning: 'A channel without sound while another plays.',
      found: ({ stereo }) =>
        stereo && stereo.silentChannels.length > 0
          ? `channel ${list(stereo.silentChannels.map((channel) => String(channel + 1)))}`
          : null,
    },
    {
      label: 'One side upside down',
      meaning: 'Stretches in which one channel has its polarity flipped against the other (heuristic).',
      found: ({ stereo }) =>
        stereo && stereo.invertedSpans.length > 0
          ? `${count(stereo.invertedSpans.length, 'stretch', 'stretches')}, ${Math.round(100 * (stereo.invertedShare ?? 0))} % of the song`
          : null,
    },
    {
      label: 'One side late',
      meaning:
        'Both sides hold the same, one of them later: a cable, a plug-in or a badly cut file (heuristic).',
      found: ({ stereo }) =>
        stereo?.delaySamples != null && Math.abs(stereo.delaySamples) >= 1
          ? `right ${stereo.delaySamples > 0 ? 'after' : 'before'} left by ${size(stereo.delaySamples, 'samples')}`
          : null,
    },
  ],
};
