import type { Source } from './source.ts';

/** The part of sources.ts that is about listeners, where they listen and what they say of it. */
export const listeningSources = {
  'h-870': {
    title: 'ITU-T H.870 (2022, with the World Health Organization), a week’s sound allowance',
    mark: 'read in',
    where:
      'the summary of ITU-T H.871, which repeats it: 1.6 Pa²h in seven days, 80 dBA for 40 h; an encyclopaedic summary: 75 dBA for 40 h for children; the text itself was not at hand',
  },
  'niosh-98-126': {
    title: 'NIOSH publication 98-126 (1998), a day’s exposure to noise',
    mark: 'read in',
    where: 'pages of the institute about it: 85 dBA for 8 h, 3 dB exchange rate, and its table of times',
  },
  'listening-level': {
    title: 'How loud it is at the ear, and when a pause is due',
    mark: 'heuristic',
    where:
      'the talk test and what a phone’s meter is worth are this project’s estimates; a pause every hour is common practice',
  },
  'standing-heuristic': {
    title: 'What of a song’s standing among references is worth a word',
    mark: 'heuristic',
    where:
      'bounds set by this project at about what is heard when switching back and forth; quarters are type 7 of Hyndman & Fan 1996, from memory',
  },
  'song-recognition': {
    title: 'Which song a new bounce is a version of',
    mark: 'heuristic',
    where: 'words and numbers that tell versions apart, and how much of the sound must be found again',
  },
  'iso-226': {
    title: 'ISO 226:2023, normal equal-loudness-level contours',
    mark: 'read in',
    where:
      'parameters and formulas as transcribed in the open library phonometry and in a port of it; ISO 226:2003, the check, in two open MATLAB collections',
  },
  'iso-389-7': {
    title: 'ISO 389-7:2019, reference threshold of hearing',
    mark: 'read in',
    where:
      'both fields as transcribed in an open MATLAB toolbox; three frequencies of it also in the documentation of phonometry',
  },
  'iec-61672': {
    title: 'IEC 61672-1:2013, A and C weighting',
    mark: 'read in',
    where: 'the table as transcribed in the open library python-acoustics; the poles behind it from memory',
  },
  'iso-532-1': {
    title: 'ISO 532-1:2017, loudness by the Zwicker method',
    mark: 'read in',
    where:
      'tables as transcribed in the open library MoSQITo, results of Annex B in the tests of phonometry; edges and course of the synthetic signals are assumed',
  },
  'ansi-s3-5': {
    title: 'ANSI S3.5-1997, speech intelligibility index, and the level of talkers',
    mark: 'read in',
    where: 'tables and the worked example as transcribed in MoSQITo',
  },
  'partial-loudness': {
    title: 'Loudness of music that noise half covers',
    mark: 'heuristic',
    where:
      'excitation patterns of ISO 532-1 joined as in Moore, Glasberg and Baer (JAES 45, 1997; from memory); no published test signals exist for the join',
  },
  'hoth-noise': {
    title: 'Hoth noise, the spectrum of rooms (IEEE 269, ITU-T P.800)',
    mark: 'read in',
    where: 'densities in the source of the open library spandsp; they add up to 50 dB(A), which a test holds',
  },
  'who-noise': {
    title: 'Noise in dwellings by day: guideline 35 dB(A)',
    mark: 'read in',
    where: 'WHO Guidelines for Community Noise 1999, table 4.1',
  },
  'car-cabin': {
    title: 'A closed cabin lifts the lowest bass',
    mark: 'read in',
    where:
      'a loudspeaker designer’s note (J. Murphy, 1999): corners of 48 to 87 Hz, 12 dB an octave below; that a small system makes 6 dB of it is assumed',
  },
  'car-noise': {
    title: 'Noise inside cars on the road',
    mark: 'from memory',
    where:
      'general literature on vehicle noise: 58 to 62 dB(A) at 50 km/h, 66 to 72 dB(A) at 110 to 130 km/h, falling 6 to 9 dB an octave above 100 Hz; no table was at hand',
  },
  microspeaker: {
    title: 'How low the smallest loudspeakers reach',
    mark: 'read in',
    where:
      'Chang and Wang, Journal of Mechanics 2018, abstract: a tablet reaches 630 Hz, 300 Hz with a ported chamber; phone capsules at 700 to 1000 Hz from memory',
  },
  'place-desk-level': {
    title: 'What a desk that nobody has calibrated is taken to play',
    mark: 'heuristic',
    where: 'assumed by this project; 70 dB(A) at the ears, a comfortable level for listening at length',
  },
  'place-assumption': {
    title: 'Figures of places that nobody publishes',
    mark: 'heuristic',
    where:
      'assumed by this project from general acquaintance with such devices; every one can be edited or measured',
  },
  'place-figures': {
    title: 'When a place does something worth a word',
    mark: 'heuristic',
    where:
      'steps and bounds set by this project: 15 % of the time heard, 3 phon of balance, 2 phon of loudness, 1 dB to mono',
  },
  'farina-sweep': {
    title: 'Exponential sweep: A. Farina, AES 108th Convention 2000, preprint 5093',
    mark: 'read in',
    where: 'formula in two open MATLAB collections; arrival times of the harmonics computed',
  },
  'proposal-heuristic': {
    title: 'How far a chain is proposed toward references',
    mark: 'heuristic',
    where: 'smoothing, number and height of bands, and width: bounds set by this project',
  },
  'walk-heuristic': {
    title: 'From notes in places to a correction',
    mark: 'heuristic',
    where: '3 dB for a tap, restraint and smoothness of the curve are set by this project',
  },
} as const satisfies Record<string, Source>;
