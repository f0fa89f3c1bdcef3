import type { DynamicsResult } from '../src/measure/dynamics-result.ts';
import type { LowEndResult } from '../src/measure/low-end.ts';
import type { StereoResult } from '../src/measure/stereo-result.ts';
import { wideBands } from '../src/measure/wide-bands.ts';

/** Stereo of a good song: for tests that need a whole measurement. */
export const goodStereo: StereoResult = {
  correlation: 0.75,
  balanceDb: 0.2,
  sideToMidDb: -8.5,
  foldLossDb: 0.6,
  bands: wideBands.map((band, i) => ({
    ...band,
    correlation: 0.95 - 0.08 * i,
    balanceDb: 0.1,
    sideToMidDb: -16 + 2 * i,
    foldLossDb: 0.1 + 0.2 * i,
  })),
  identical: false,
  silentChannels: [],
  delaySamples: 0.01,
  delayAgreement: 0.7,
  invertedSpans: [],
  invertedShare: 0,
};

/** Dynamics of a good song. */
export const goodDynamics: DynamicsResult = {
  crestBands: wideBands.map((band, i) => ({ ...band, crestDb: 15 + 2 * i })),
  rmsSpreadDb: 7,
  onsetsPerSecond: 3,
  psrMedianDb: 11,
  psrMinDb: 9,
  loudnessHistogram: { fromLufs: -20, shares: [0.1, 0.2, 0.3, 0.2, 0.2] },
  topShare: 0.02,
  edgeDb: -1,
  limiting: 'some',
  flatTopCount: 0,
  flatTopShare: 0,
  flatTops: [],
};

export const goodLowEnd: LowEndResult = {
  centreHz: 80,
  centreSpreadOctaves: 0.5,
  levelSpreadDb: 9,
  presentShare: 0.75,
};
