import { spanLoudness } from '../measure/loudness-detail.ts';
import type { Measurement, Traces } from '../measure/measurement.ts';
import type { Section } from '../measure/sections.ts';
import type { Span } from '../measure/span.ts';
import { type Band, thirdOctaves } from '../measure/third-octaves.ts';
import { tiltDbPerOctave } from '../measure/tone.ts';
import { bandFloorDb } from '../measure/tone-over-time.ts';
import { holdsBand, wideBands } from '../measure/wide-bands.ts';
import { amplitudeToDb, powerToDb } from '../signal/decibels.ts';
import { kPower } from '../signal/k-weighting.ts';

/** The figures by which songs are held against each other, besides tone. */
export const setFigureIds = [
  'integratedLufs',
  'tiltDbPerOctave',
  'plrDb',
  'rangeLu',
  'sideToMidDb',
  'lowDb',
  'truePeakDbtp',
] as const;
export type SetFigureId = (typeof setFigureIds)[number];

/** A song, or a section of one, as it is held against others. */
export interface SetPart extends Span {
  /** null: the whole song; otherwise the letter of the section. */
  readonly section: string | null;
  /** Level of each band of `setCentresHz` at a loudness (K-weighted, ungated) of 0 dB; null where there is nothing. */
  readonly levelsDb: readonly (number | null)[];
  /** null where the part has none. */
  readonly figures: Readonly<Record<SetFigureId, number | null>>;
}

/** All bands, whatever the rate of a file; one that does not reach a band has null there. */
const bands: readonly Band[] = thirdOctaves(96_000);
/** Nominal third-octave centres of every part, Hz. */
export const setCentresHz: readonly number[] = bands.map(({ nominalHz }) => nominalHz);
/** What the K-weighting of BS.1770-5 does to the power of each band, at its centre. */
const kPowers: readonly number[] = bands.map(({ lowHz, highHz }) => kPower(Math.sqrt(lowHz * highHz)));
/** As ToneResult.lowDb has it. */
const lowTopHz = 120;

/** The whole song. */
export function wholePart({ tone, loudness, peak, stereo, seconds }: Measurement): SetPart {
  const byCentre = new Map(tone.centresHz.map((hz, i) => [hz, tone.levelsDb[i]]));
  const powers = setCentresHz.map((hz) => {
    const db = byCentre.get(hz) ?? null;
    return db === null ? 0 : 10 ** (db / 10);
  });
  return {
    startSeconds: 0,
    endSeconds: seconds,
    section: null,
    levelsDb: atEqualLoudness(powers),
    figures: {
      integratedLufs: loudness.integratedLufs,
      tiltDbPerOctave: tone.tiltDbPerOctave,
      plrDb: peak.plrDb,
      rangeLu: loudness.rangeLu,
      sideToMidDb: stereo?.sideToMidDb ?? null,
      lowDb: tone.lowDb,
      truePeakDbtp: peak.truePeakDbtp,
    },
  };
}

/**
 * Each section, from the kept traces: nothing is measured again. Bands come from tone over time, whose levels are kept in
 * whole decibels (in a section of steady sound a band may be up to half a decibel off); width from the five wide bands; the
 * peak is that of the samples in the drawn waveform, so PLR reads up to about a decibel low and there is no true peak.
 */
export function sectionParts(measurement: Measurement): SetPart[] {
  return measurement.sections.sections.map((section) => sectionPart(measurement, section));
}

/** The loudest section; the whole song when it has none. */
export function loudestPart(measurement: Measurement): SetPart {
  const { sections, loudest } = measurement.sections;
  return loudest === null ? wholePart(measurement) : sectionPart(measurement, sections[loudest]);
}

function sectionPart({ traces, sampleRate }: Measurement, section: Section): SetPart {
  const powers = bandPowers(traces, section);
  const loudness = spanLoudness(traces.loudness, section);
  const peakDbfs = samplePeakDbfs(traces, section);
  const all = powers.reduce((sum, power) => sum + power, 0);
  const low = bands.reduce((sum, { lowHz, highHz }, i) => {
    const share = Math.min(1, Math.max(0, (lowTopHz - lowHz) / (highHz - lowHz)));
    return sum + powers[i] * share;
  }, 0);
  return {
    startSeconds: section.startSeconds,
    endSeconds: section.endSeconds,
    section: section.label,
    levelsDb: atEqualLoudness(powers),
    figures: {
      integratedLufs: section.loudnessLufs,
      tiltDbPerOctave: tiltDbPerOctave(
        bands,
        powers.map((power) => (power > 0 ? powerToDb(power) : null)),
      ),
      plrDb: peakDbfs === null || section.loudnessLufs === null ? null : peakDbfs - section.loudnessLufs,
      rangeLu: loudness.rangeLu,
      sideToMidDb: sideToMidDb(traces, section, sampleRate),
      lowDb: low > 0 && all > 0 ? powerToDb(low / all) : null,
      truePeakDbtp: null,
    },
  };
}

/** @param powers a band each, in any unit */
function atEqualLoudness(powers: readonly number[]): (number | null)[] {
  const weighted = powers.reduce((sum, power, i) => sum + power * kPowers[i], 0);
  return powers.map((power) => (power > 0 && weighted > 0 ? powerToDb(power / weighted) : null));
}

/** Steps of a trace whose middle lies in a span; the nearest one when none does. */
function stepsWithin(first: number, step: number, count: number, { startSeconds, endSeconds }: Span) {
  const clamp = (i: number) => Math.min(count - 1, Math.max(0, i));
  const from = Math.ceil((startSeconds - first) / step);
  const to = Math.ceil((endSeconds - first) / step) - 1;
  if (to < from) {
    const nearest = clamp(Math.round(((startSeconds + endSeconds) / 2 - first) / step));
    return { from: nearest, to: nearest };
  }
  return { from: clamp(from), to: clamp(to) };
}

function bandPowers({ tone }: Traces, span: Span): number[] {
  const { from, to } = stepsWithin(tone.firstSeconds, tone.stepSeconds, tone.levelsDb.length, span);
  const byCentre = new Map(tone.centresHz.map((hz, i) => [hz, i]));
  return setCentresHz.map((hz) => {
    const band = byCentre.get(hz);
    if (band === undefined) return 0;
    let sum = 0;
    for (let i = from; i <= to && i < tone.levelsDb.length; i++) {
      const db = tone.levelsDb[i][band];
      if (db > bandFloorDb) sum += 10 ** (db / 10);
    }
    return sum / (to - from + 1);
  });
}

function samplePeakDbfs({ waveform }: Traces, { startSeconds, endSeconds }: Span): number | null {
  const { stepSeconds, min, max } = waveform;
  let peak = 0;
  const last = Math.min(max.length, Math.ceil(endSeconds / stepSeconds));
  for (let i = Math.max(0, Math.floor(startSeconds / stepSeconds)); i < last; i++)
    peak = Math.max(peak, max[i], -min[i]);
  return peak > 0 ? amplitudeToDb(peak) : null;
}

/**
 * Side over mid of a span. A step's power in a wide band (all channels) and its side over mid give the power of each:
 * |L+R|² + |L−R|² = 2 (|L|² + |R|²).
 */
function sideToMidDb({ tone, stereo }: Traces, span: Span, sampleRate: number): number | null {
  if (stereo === null) return null;
  const held = wideBands.filter((band) => holdsBand(band, sampleRate));
  const members = held.map(({ lowHz, highHz }) =>
    tone.centresHz.flatMap((hz, i) => (hz >= lowHz && hz < highHz ? [i] : [])),
  );
  const { from, to } = stepsWithin(tone.firstSeconds, tone.stepSeconds, tone.levelsDb.length, span);
  let [side, mid] = [0, 0];
  for (let i = from; i <= to && i < tone.levelsDb.length; i++) {
    const at = tone.firstSeconds + i * tone.stepSeconds;
    const j = Math.max(0, Math.round((at - stereo.bandFirstSeconds) / stereo.bandStepSeconds));
    members.forEach((centres, b) => {
      const db = stereo.bandSideToMidDb[b]?.[Math.min(j, stereo.bandSideToMidDb[b].length - 1)] ?? null;
      if (db === null) return;
      const ratio = 10 ** (db / 10);
      const power = centres.reduce((sum, c) => sum + 10 ** (tone.levelsDb[i][c] / 10), 0);
      side += (power * ratio) / (1 + ratio);
      mid += power / (1 + ratio);
    });
  }
  if (side + mid <= 0) return null;
  // As pairFigures tells it: beyond 60 dB it is all or nothing.
  return Math.min(60, Math.max(-60, powerToDb(side / mid)));
}
