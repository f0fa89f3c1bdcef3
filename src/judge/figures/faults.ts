import { clockTime, count, list, withUnit } from '../wording.ts';
import type { FigureGroup } from './figure.ts';

const seconds = (value: number): string => withUnit(value, 's', value < 1 ? 2 : 1);

/** '0:12.0, 0:40.3 and 4 more'. */
function placesOf(spans: readonly { readonly startSeconds: number }[]): string {
  const named = 4;
  const times = [...new Set(spans.map(({ startSeconds }) => clockTime(startSeconds)))];
  const more = times.length - named;
  return more > 0 ? `${times.slice(0, named).join(', ')} and ${more} more` : list(times);
}

/** Silence at the ends is worth telling from here, s; an end counts as cut from here, dBFS (both only for this list). */
const longSilenceSeconds = 3;

export const faultsGroup: FigureGroup = {
  id: 'faults',
  title: 'Faults looked for',
  figures: [
    {
      label: 'Noise floor',
      unit: 'dBFS',
      meaning: 'Steady noise where the music pauses, 200 Hz to 16 kHz; none where it never pauses.',
      read: ({ faults }) => faults.noise.floorDbfs,
    },
    {
      label: 'Quietest passage',
      unit: 'dBFS',
      meaning: 'Level of the quietest 0.7 s that are not digital silence.',
      read: ({ faults }) => faults.noise.quietestDbfs,
    },
    {
      label: 'DC offset',
      unit: 'dBFS',
      meaning:
        'Distance of the middle of the waveform from zero, in the worse channel; none when it is exactly 0.',
      read: ({ faults }) => faults.dc.worstDbfs,
    },
    {
      label: 'Below 20 Hz',
      unit: 'dB',
      meaning: 'Power from 2 to 20 Hz, which nobody hears, as a part of the whole.',
      read: ({ faults }) => faults.subsonic.shareDb,
    },
    {
      label: 'Bits in use',
      unit: 'bit',
      digits: 0,
      meaning: 'Bits a sample that are really used; none for samples finer than 24 bits.',
      read: ({ faults }) => faults.grid.bits,
    },
    {
      label: 'Spectrum ends at',
      unit: 'Hz',
      digits: 0,
      meaning: 'Where the spectrum stops as if cut; none where it fades out by itself or reaches the top.',
      read: ({ faults }) => faults.bandwidth.edgeHz,
    },
    {
      label: 'Silence at the head',
      unit: 's',
      digits: 2,
      meaning: 'Time until the sound first passes −60 dBFS.',
      read: ({ faults }) => faults.ends.headQuietSeconds,
    },
    {
      label: 'Silence at the tail',
      unit: 's',
      digits: 2,
      meaning: 'Time from where the sound last passes −60 dBFS to the end.',
      read: ({ faults }) => faults.ends.tailQuietSeconds,
    },
    {
      label: 'First millisecond',
      unit: 'dBFS',
      meaning: 'Highest sample of the first millisecond; high when the sound starts in full swing.',
      read: ({ faults }) => faults.ends.headDbfs,
    },
    {
      label: 'Last 10 ms',
      unit: 'dBFS',
      meaning: 'Highest sample of the last 10 ms of sound; high when it is cut off.',
      read: ({ faults }) => faults.ends.tailDbfs,
    },
  ],
  tables: [
    {
      title: 'Lines of the hum',
      columns: [
        { head: 'Line', unit: 'Hz', align: 'right' },
        { head: 'Level', unit: 'dBFS', align: 'right' },
        { head: 'Above its surroundings', unit: 'dB', align: 'right' },
      ],
      rows: ({ faults }) =>
        faults.hum.lines.map(({ hz, levelDbfs, prominenceDb }) => [
          withUnit(hz, ''),
          withUnit(levelDbfs, ''),
          withUnit(prominenceDb, ''),
        ]),
    },
  ],
  sought: [
    {
      label: 'Clicks',
      meaning: 'Single samples or steps that do not belong to the sound around them (heuristic).',
      found: ({ faults: { clicks } }) =>
        clicks.count === 0 ? null : `${count(clicks.count, 'click')}, at ${placesOf(clicks.clicks)}`,
    },
    {
      label: 'Dropouts',
      meaning: 'Sound that breaks off for up to a second and comes back (heuristic).',
      found: ({ faults: { dropouts } }) =>
        dropouts.count === 0
          ? null
          : `${count(dropouts.count, 'dropout')}, at ${placesOf(dropouts.dropouts)}`,
    },
    {
      label: 'Silence inside the song',
      meaning: 'Digital silence of half a second or more between sounds.',
      found: ({ faults: { ends } }) =>
        ends.gapCount === 0 ? null : `${count(ends.gapCount, 'gap')}, at ${placesOf(ends.gaps)}`,
    },
    {
      label: 'Long silence at the ends',
      meaning: `More than ${longSilenceSeconds} s under −60 dBFS before the first or after the last sound.`,
      found: ({ faults: { ends } }) => {
        const head = ends.headQuietSeconds ?? 0;
        const tail = ends.tailQuietSeconds ?? 0;
        const parts = [
          ...(head > longSilenceSeconds ? [`${seconds(head)} before the song`] : []),
          ...(tail > longSilenceSeconds ? [`${seconds(tail)} after it`] : []),
        ];
        return parts.length === 0 ? null : list(parts);
      },
    },
    {
      label: 'Hum',
      meaning:
        'Lines of the mains (50 or 60 Hz and their multiples) that stand still under the quiet passages (heuristic).',
      found: ({ faults: { hum } }) =>
        hum.mainsHz === null
          ? null
          : `${hum.mainsHz} Hz, ${withUnit(hum.levelDbfs ?? 0, 'dBFS')} in ${count(hum.lines.length, 'line')}`,
    },
    {
      label: 'Empty bits',
      meaning: 'Samples that lie on a coarser grid than the file stores, as when 16 bits are put into 24.',
      found: ({ file, faults: { grid } }) =>
        grid.bits !== null && file.bitDepth !== null && grid.bits < file.bitDepth
          ? `${grid.bits} of ${file.bitDepth} bits in use`
          : null,
    },
    {
      label: 'Bits cut off without dither',
      meaning: 'Quiet passages whose samples stick to the last bit (heuristic).',
      found: ({ faults: { grid } }) => (grid.undithered === true ? 'quiet passages look cut off' : null),
      untold: ({ faults: { grid } }) => (grid.undithered === null ? 'nothing is quiet enough to tell' : null),
    },
    {
      label: 'A lossy or upsampled source',
      meaning:
        'A spectrum that ends where lossy encoders cut off, or at half of a lower sample rate (heuristic).',
      found: ({ faults: { bandwidth } }) => {
        const { tells, edgeHz, sourceRateHz } = bandwidth;
        if (tells === null || edgeHz === null) return null;
        const edge = `the spectrum ends at ${withUnit(edgeHz / 1000, 'kHz')}`;
        return tells === 'lossy'
          ? `${edge}, as after lossy coding`
          : `${edge}, as after ${withUnit((sourceRateHz ?? 0) / 1000, 'kHz')} sampling`;
      },
    },
  ],
};
