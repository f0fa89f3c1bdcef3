import type { FigureGroup } from './figure.ts';

export const fitnessGroup: FigureGroup = {
  id: 'fitness',
  title: 'Fitness for finishing',
  figures: [
    {
      label: 'Headroom',
      unit: 'dB',
      main: true,
      meaning: 'Room from the true peak up to full scale.',
      read: ({ fitness }) => fitness.headroomDb,
    },
    {
      label: 'Peaks on one level',
      unit: '%',
      meaning:
        'Share of the loud moments that end within 0.5 dB of the highest peak; a limiter on the bus lines them up (heuristic).',
      read: ({ fitness }) => (fitness.nearTopShare === null ? null : 100 * fitness.nearTopShare),
    },
    {
      label: 'Loudness over noise',
      unit: 'dB',
      meaning: 'From the noise floor up to the loudness of the song; none where the music never pauses.',
      read: ({ fitness }) => fitness.loudnessOverNoiseDb,
    },
  ],
  tables: [],
  sought: [],
};
