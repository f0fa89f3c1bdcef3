import type { Figure, FigureGroup } from './figure.ts';

/** The figures that every version is read by first. */
export const mainFigures = {
  integrated: {
    label: 'Loudness',
    unit: 'LUFS',
    main: true,
    meaning: 'How loud the whole song is to the ear, quiet parts left out (integrated, ITU-R BS.1770-5).',
    read: (r) => r.loudness.integratedLufs,
  },
  range: {
    label: 'Range',
    unit: 'LU',
    main: true,
    meaning: 'How far the loud parts stand above the quiet ones over the song (LRA, EBU Tech 3342).',
    read: (r) => r.loudness.rangeLu,
  },
  shortTerm: {
    label: 'Loudest 3 s',
    unit: 'LUFS',
    main: true,
    meaning: 'The highest short-term loudness, a window of three seconds (EBU Tech 3341).',
    read: (r) => r.loudness.maxShortTermLufs,
  },
  momentary: {
    label: 'Loudest 0.4 s',
    unit: 'LUFS',
    main: true,
    meaning: 'The highest momentary loudness, a window of 400 milliseconds (EBU Tech 3341).',
    read: (r) => r.loudness.maxMomentaryLufs,
  },
  truePeak: {
    label: 'True peak',
    unit: 'dBTP',
    main: true,
    meaning: 'The highest point of the waveform that a converter makes out of the samples, between them too.',
    read: (r) => r.peak.truePeakDbtp,
  },
  samplePeak: {
    label: 'Sample peak',
    unit: 'dBFS',
    main: true,
    meaning: 'The largest single sample.',
    read: (r) => r.peak.samplePeakDbfs,
  },
  plr: {
    label: 'PLR',
    unit: 'dB',
    main: true,
    meaning: 'From loudness to true peak: how much room the hits have above the body of the sound.',
    read: (r) => r.peak.plrDb,
  },
  crest: {
    label: 'Crest',
    unit: 'dB',
    main: true,
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
    main: true,
    meaning: 'How fast the spectrum falls from 100 Hz to 10 kHz; less negative is brighter.',
    read: (r) => r.tone.tiltDbPerOctave,
  },
  low: {
    label: 'Low',
    unit: 'dB',
    main: true,
    meaning: 'Power below 120 Hz as a part of the whole.',
    read: (r) => r.tone.lowDb,
  },
  mid: {
    label: 'Mid',
    unit: 'dB',
    main: true,
    meaning: 'Power from 120 Hz to 2 kHz as a part of the whole.',
    read: (r) => r.tone.midDb,
  },
  high: {
    label: 'High',
    unit: 'dB',
    main: true,
    meaning: 'Power from 2 to 20 kHz as a part of the whole.',
    read: (r) => r.tone.highDb,
  },
} satisfies Record<string, Figure>;

const plain = { tables: [], sought: [] };

export const loudnessGroup: FigureGroup = {
  ...plain,
  id: 'loudness',
  title: 'Loudness',
  figures: [mainFigures.integrated, mainFigures.range, mainFigures.shortTerm, mainFigures.momentary],
};

export const peaksGroup: FigureGroup = {
  ...plain,
  id: 'peaks',
  title: 'Peaks',
  figures: [
    mainFigures.truePeak,
    mainFigures.samplePeak,
    mainFigures.plr,
    mainFigures.crest,
    mainFigures.overs,
    mainFigures.clipped,
  ],
};

export const toneGroup: FigureGroup = {
  ...plain,
  id: 'tone',
  title: 'Tone',
  figures: [mainFigures.tilt, mainFigures.low, mainFigures.mid, mainFigures.high],
};
