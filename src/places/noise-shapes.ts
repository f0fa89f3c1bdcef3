import { normalSpeech, spectrumLevel, speechCentresHz } from '../hearing/speech-intelligibility.ts';
import type { Curve } from './place.ts';

/**
 * Hoth's room noise, dB SPL/Hz for 50 dB(A), third octaves 100 Hz to 8 kHz: IEEE 269 and ITU-T P.800 Annex A, as transcribed
 * in the source of the open library spandsp.
 */
const hothDensity = [
  32.4, 30.9, 29.1, 27.6, 26, 24.4, 22.7, 21.1, 19.5, 17.8, 16.2, 14.6, 12.9, 11.3, 9.6, 7.8, 5.4, 2.6, -1.3,
  -6.6,
];
const hothHz = [
  100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300,
  8000,
];

/** Hoth noise as third-octave levels; below 100 Hz flat, above 8 kHz falling on (assumptions). */
export const hothShape: Curve = [
  ...hothHz.map((hertz, i) => ({ hertz, db: hothDensity[i] - spectrumLevel(0, hertz) })),
  { hertz: 16000, db: 12 },
];

/**
 * Inside a car on the road: as strong down to 30 Hz, from 100 Hz up 7.5 dB an octave less in a band. From memory of texts on
 * vehicle noise, which give 6 to 9 dB an octave; an assumption of this project.
 */
export const carShape: Curve = [
  { hertz: 20, db: -3 },
  { hertz: 30, db: 0 },
  { hertz: 100, db: 0 },
  { hertz: 10000, db: -7.5 * Math.log2(100) },
  { hertz: 20000, db: -7.5 * Math.log2(200) },
];

/** People talking: the long-term spectrum of normal speech, ANSI S3.5-1997 Table 3. */
export const speechShape: Curve = [
  { hertz: 80, db: 30 },
  ...speechCentresHz('third-octave').map((hertz, i) => ({
    hertz,
    db: normalSpeech('third-octave')[i] - spectrumLevel(0, hertz),
  })),
  { hertz: 16000, db: 25 },
];

/** The hush of a quiet room, falling 3 dB an octave in a band (assumption). */
export const quietShape: Curve = [
  { hertz: 20, db: 0 },
  { hertz: 20000, db: -30 },
];
