import type { FaultResult } from '../src/measure/faults/fault-meter.ts';
import type { FitnessResult } from '../src/measure/fitness.ts';

/** What the fault detectors say of a good song: for tests that need a whole measurement. */
export const faultless: FaultResult = {
  dc: { offsets: [0, 0], worstDbfs: null },
  clicks: { count: 0, clicks: [] },
  dropouts: { count: 0, dropouts: [] },
  ends: {
    headZeroSeconds: 0.2,
    tailZeroSeconds: 0.3,
    headQuietSeconds: 0.2,
    tailQuietSeconds: 1.5,
    headDbfs: null,
    tailDbfs: -120,
    gaps: [],
    gapCount: 0,
  },
  hum: { mainsHz: null, levelDbfs: null, lines: [] },
  noise: { quietestDbfs: -90, quietest: { startSeconds: 88, endSeconds: 88.7 }, floorDbfs: null },
  subsonic: { shareDb: -45, levelDbfs: -60 },
  grid: { bits: 24, shareOn16Bits: 0, lastBitSeconds: 1.2, repeatShare: 0.35, undithered: null },
  bandwidth: { edgeHz: null, dropDb: null, tells: null, sourceRateHz: null },
};

export const fit: FitnessResult = {
  headroomDb: 1.05,
  nearTopShare: 0.01,
  busLimiting: 'none',
  loudnessOverNoiseDb: null,
  bits: 24,
  topHz: null,
};
