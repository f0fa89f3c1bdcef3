import { leastSureBands } from '../places/measured-place.ts';
import type { ReferenceResponse } from '../places/reference-measure.ts';
import type { MeasuredResponse } from '../places/sweep-measure.ts';
import type { Measured } from './measured-report.ts';
import { count, figure, list } from './wording.ts';

/** Below this a recorder's gain counts as steady, dB (heuristic). */
const steadyGainDb = 0.5;
/** Distortion from here on is worth a word, dB under the tone (heuristic: 3 %). */
const distortionFromDb = -30;

/** What a sweep told, with its sentences. */
export function measuredBySweep(found: MeasuredResponse, sweepSeconds: number): Measured {
  const { bands, startSeconds, foundDb, clipped, gainMovedDb } = found;
  return withSentences({
    how: 'sweep',
    foundDb,
    startSeconds,
    sweepSeconds,
    clipped,
    gainMovedDb,
    bands: bands.map((band) => ({ ...band })),
  });
}

/** What a known song told, with its sentences. */
export function measuredByReference({ bands, startSeconds, foundDb }: ReferenceResponse): Measured {
  return withSentences({
    how: 'reference',
    foundDb,
    startSeconds,
    sweepSeconds: null,
    clipped: false,
    gainMovedDb: null,
    bands: bands.map((band) => ({ ...band, overNoiseDb: null, distortionDb: null, noiseDb: null })),
  });
}

function withSentences(found: Omit<Measured, 'sureBands' | 'enough' | 'sentences'>): Measured {
  const sureBands = found.bands.filter(({ sure }) => sure).length;
  const enough = sureBands >= leastSureBands;
  return { ...found, sureBands, enough, sentences: sentencesOf({ ...found, sureBands, enough }) };
}

function sentencesOf(found: Omit<Measured, 'sentences'>): string[] {
  const { bands, sureBands, how, clipped, gainMovedDb } = found;
  const what = how === 'sweep' ? 'The sweep' : 'The song';
  const start =
    found.startSeconds < 0
      ? `was under way when the recording began`
      : `begins ${figure(found.startSeconds)} s into the recording`;
  const sure = bands.filter((band) => band.sure);
  const sentences = [
    sureBands === 0
      ? `${what} ${start}, but no third octave is sure.`
      : `${what} ${start}; ${count(sureBands, 'third octave')} of ${bands.length} ${sureBands === 1 ? 'is' : 'are'} sure, from ${hertz(sure[0].centreHz)} to ${hertz(sure[sure.length - 1].centreHz)}.`,
  ];
  if (!found.enough)
    sentences.push(
      `A place needs ${count(leastSureBands, 'third octave')} that are sure: record nearer, in a quieter moment, or a longer sweep.`,
    );
  const unsure = stretches(bands.map(({ sure }) => !sure));
  if (sureBands > 0 && unsure.length > 0)
    sentences.push(
      `Not sure: ${list(unsure.map(([from, to]) => (from === to ? `about ${hertz(bands[from].centreHz)}` : `${hertz(bands[from].centreHz)} to ${hertz(bands[to].centreHz)}`)))}. ${how === 'sweep' ? 'What cannot be heard over the noise there, or not at all, is not measured.' : 'The song plays too little there, or the noise covers it.'}`,
    );
  if (clipped)
    sentences.push(
      'The recording is cut off at its loudest. What was cut off comes from the quiet sweep or is not sure; a recording with less input is better.',
    );
  if (gainMovedDb !== null && gainMovedDb > steadyGainDb)
    sentences.push(
      `The recorder moved its own gain by ${figure(gainMovedDb)} dB; that was followed and taken out.`,
    );
  if (how === 'sweep' && gainMovedDb === null)
    sentences.push(
      'Whether the recorder moved its own gain could not be followed; it is taken as fixed. Switch automatic gain off if you can.',
    );
  const bent = bands.filter(({ distortionDb, sure }) => sure && (distortionDb ?? -100) > distortionFromDb);
  if (bent.length > 0) {
    const worst = bent.reduce((a, b) => ((b.distortionDb ?? -100) > (a.distortionDb ?? -100) ? b : a));
    sentences.push(
      `The loudspeaker, or the recorder, distorts: most about ${hertz(worst.centreHz)}, ${figure(100 * 10 ** ((worst.distortionDb ?? 0) / 20), 0)} %. Play it more quietly for a surer curve.`,
    );
  }
  return sentences;
}

/** First and last index of each stretch that is set. */
function stretches(set: readonly boolean[]): [number, number][] {
  const found: [number, number][] = [];
  set.forEach((one, i) => {
    if (!one) return;
    const last = found[found.length - 1];
    if (last && last[1] === i - 1) last[1] = i;
    else found.push([i, i]);
  });
  return found;
}

function hertz(value: number): string {
  return value < 995 ? `${Math.round(value)} Hz` : `${figure(value / 1000, value < 9950 ? 1 : 0)} kHz`;
}
