import type { FileReport } from '../../src/judge/file-report.ts';

/** A figure as it is set in a table: its name, its unit, what it means and where it stands in the report. */
export interface Figure {
  readonly label: string;
  readonly unit: string;
  readonly meaning: string;
  read(report: FileReport): number | null;
}

const figures = {
  integrated: {
    label: 'Loudness',
    unit: 'LUFS',
    meaning: 'How loud the whole song is to the ear, quiet parts left out (integrated, ITU-R BS.1770-5).',
    read: (r) => r.loudness.integratedLufs,
  },
  range: {
    label: 'Range',
    unit: 'LU',
    meaning: 'How far the loud parts stand above the quiet ones over the song (LRA, EBU Tech 3342).',
    read: (r) => r.loudness.rangeLu,
  },
  shortTerm: {
    label: 'Loudest 3 s',
    unit: 'LUFS',
    meaning: 'The highest short-term loudness, a window of three seconds (EBU Tech 3341).',
    read: (r) => r.loudness.maxShortTermLufs,
  },
  momentary: {
    label: 'Loudest 0.4 s',
    unit: 'LUFS',
    meaning: 'The highest momentary loudness, a window of 400 milliseconds (EBU Tech 3341).',
    read: (r) => r.loudness.maxMomentaryLufs,
  },
  truePeak: {
    label: 'True peak',
    unit: 'dBTP',
    meaning: 'The highest point of the waveform that a converter makes out of the samples, between them too.',
    read: (r) => r.peak.truePeakDbtp,
  },
  samplePeak: {
    label: 'Sample peak',
    unit: 'dBFS',
    meaning: 'The largest single sample.',
    read: (r) => r.peak.samplePeakDbfs,
  },
  plr: {
    label: 'PLR',
    unit: 'dB',
    meaning: 'From loudness to true peak: how much room the hits have above the body of the sound.',
    read: (r) => r.peak.plrDb,
  },
  crest: {
    label: 'Crest',
    unit: 'dB',
    meaning: 'From RMS to sample peak, in the channel where it is largest.',
    read: (r) => r.peak.crestDb,
  },
  overs: {
    label: 'Overs',
    unit: '',
    meaning: 'How often the waveform passes full scale between the samples (above 0 dBTP).',
    read: (r) => r.peak.overCount,
  },
  clipped: {
    label: 'Clipped runs',
    unit: '',
    meaning: 'How often three or more samples stand level at the top, as clipping leaves them.',
    read: (r) => r.peak.clippedRunCount,
  },
  tilt: {
    label: 'Tilt',
    unit: 'dB/oct',
    meaning: 'How fast the spectrum falls from 100 Hz to 10 kHz; less negative is brighter.',
    read: (r) => r.tone.tiltDbPerOctave,
  },
  low: {
    label: 'Low',
    unit: 'dB',
    meaning: 'Power below 120 Hz as a part of the whole.',
    read: (r) => r.tone.lowDb,
  },
  mid: {
    label: 'Mid',
    unit: 'dB',
    meaning: 'Power from 120 Hz to 2 kHz as a part of the whole.',
    read: (r) => r.tone.midDb,
  },
  high: {
    label: 'High',
    unit: 'dB',
    meaning: 'Power from 2 to 20 kHz as a part of the whole.',
    read: (r) => r.tone.highDb,
  },
} satisfies Record<string, Figure>;

/** The figures of one version, in the groups in which they are set. */
export const figureGroups: readonly { title: string; figures: readonly Figure[] }[] = [
  { title: 'Loudness', figures: [figures.integrated, figures.range, figures.shortTerm, figures.momentary] },
  {
    title: 'Peaks',
    figures: [
      figures.truePeak,
      figures.samplePeak,
      figures.plr,
      figures.crest,
      figures.overs,
      figures.clipped,
    ],
  },
  { title: 'Tone', figures: [figures.tilt, figures.low, figures.mid, figures.high] },
];

/** The figures in which versions are compared. */
export const comparedFigures: readonly Figure[] = [
  figures.integrated,
  figures.range,
  figures.truePeak,
  figures.plr,
  figures.crest,
  figures.tilt,
  figures.low,
  figures.high,
];
