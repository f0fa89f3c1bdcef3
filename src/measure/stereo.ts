import type { PairLevels } from './pair-levels.ts';
import { pairFigures } from './pair-power.ts';
import { type Polarity, polarityOf } from './polarity.ts';
import type { StereoBandReading } from './stereo-bands.ts';
import type { ChannelDelay } from './stereo-delay.ts';
import type { StereoResult, StereoTrace } from './stereo-result.ts';

/** Mean power of a channel at or below which it has no stereo figures: -90 dBFS; in a band -100 dBFS. */
const silence = 1e-9;
const bandSilence = 1e-10;
/** Side under mid by which two channels count as one, power ratio: -80 dB, the level of 16-bit dither under music (heuristic). */
const sameBelow = 1e-8;
/** Highest sample of a channel that still counts as silent: -90 dBFS (heuristic). */
const silentPeak = 10 ** (-90 / 20);
/** Least share of the spectrum that must agree on a delay before it is told (heuristic). */
const leastAgreement = 0.25;

/** What two channels have to do with each other as far as spectra tell it. */
export interface StereoBands {
  readonly bands: StereoResult['bands'];
  readonly delay: ChannelDelay | null;
  readonly polarity: Polarity;
  readonly trace: Pick<
    StereoTrace,
    'bandFirstSeconds' | 'bandStepSeconds' | 'bandCorrelation' | 'bandSideToMidDb'
  >;
}

export function stereoBands(reading: StereoBandReading, seconds: number): StereoBands {
  const byBand = reading.bands.map((_, b) => reading.steps.map((step) => pairFigures(step[b], bandSilence)));
  return {
    bands: reading.bands.map((band, b) => ({ ...band, ...pairFigures(reading.whole[b], bandSilence) })),
    delay: reading.delay,
    polarity: polarityOf(reading, seconds),
    trace: {
      bandFirstSeconds: reading.firstSeconds,
      bandStepSeconds: reading.stepSeconds,
      bandCorrelation: byBand.map((band) => band.map(({ correlation }) => rounded(correlation, 1000))),
      bandSideToMidDb: byBand.map((band) => band.map(({ sideToMidDb }) => rounded(sideToMidDb, 100))),
    },
  };
}

/**
 * @param levels of the whole sound
 * @param spectra of the same, by band
 * @param channelPeaks highest |sample| of each channel
 */
export function stereoResult(
  levels: PairLevels,
  { bands, delay, polarity }: StereoBands,
  channelPeaks: readonly number[],
  seconds: number,
): StereoResult | null {
  if (channelPeaks.length < 2) return null;
  const pair = levels.pair ?? { left: 0, right: 0, sum: 0, difference: 0 };
  const loud = channelPeaks.some((peak) => peak > silentPeak);
  const clear = delay !== null && delay.agreement >= leastAgreement;
  // A channel that is late and upside down correlates with nothing; its delay still tells.
  const wholly = clear && delay.inverted && (polarity.invertedShare ?? 0) < 0.5;
  return {
    ...pairFigures(pair, silence),
    bands,
    identical: pair.sum > silence && pair.difference <= sameBelow * pair.sum,
    silentChannels: loud ? channelPeaks.flatMap((peak, c) => (peak <= silentPeak ? [c] : [])) : [],
    delaySamples: clear ? delay.delaySamples : null,
    delayAgreement: delay?.agreement ?? null,
    invertedSpans: wholly ? [{ startSeconds: 0, endSeconds: seconds }] : polarity.invertedSpans,
    invertedShare: wholly ? 1 : polarity.invertedShare,
  };
}

export function stereoTrace(levels: PairLevels, { trace }: StereoBands): StereoTrace | null {
  if (levels.pair === null) return null;
  const steps = levels.steps.map((power) => pairFigures(power, silence));
  return {
    stepSeconds: levels.stepSeconds,
    correlation: steps.map(({ correlation }) => rounded(correlation, 1000)),
    balanceDb: steps.map(({ balanceDb }) => rounded(balanceDb, 100)),
    ...trace,
  };
}

/** Traces are kept as text: digits that nobody can see are left out. */
function rounded(value: number | null, parts: number): number | null {
  return value === null ? null : Math.round(value * parts) / parts;
}
