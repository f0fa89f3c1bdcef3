import type { DemoFault } from '../demo-index.ts';
import type { Compression } from '../mixing/compressor.ts';
import type { Band } from '../mixing/equaliser.ts';
import type { Finish } from './master.ts';

/** Below 25 Hz there is nothing to hear and much to lose. */
const clean: Band = { kind: 'lowcut', hz: 25 };

const gentle: Compression = {
  thresholdDb: -14,
  ratio: 1.6,
  attackSeconds: 0.03,
  releaseSeconds: 0.18,
  kneeDb: 10,
};

/** What this song needs, before anything is done wrong. */
export interface Needs {
  readonly bands: readonly Band[];
  /** Loudness of the good master, LUFS. */
  readonly lufs: number;
  /** dBTP; lower where the song's peaks grow much in lossy coding. */
  readonly ceilingDb?: number;
}

/** A master as it should be: a little tone, a little glue, a limiter that reads between the samples. */
export function goodTake({ bands, lufs, ceilingDb = -1.4 }: Needs): Finish {
  return {
    bands: [clean, ...bands],
    compression: gentle,
    targetLufs: lufs,
    peaks: 'between',
    ceilingDb,
  };
}

/** The same song with one thing done wrong. */
export function faultyTake(fault: DemoFault, needs: Needs): Finish {
  const good = goodTake(needs);
  switch (fault) {
    case 'overs':
      // Brighter and faster, and blind to what happens between the samples.
      return {
        ...good,
        bands: [...good.bands, { kind: 'highshelf', hz: 6000, db: 2 }],
        targetLufs: needs.lufs + 1.2,
        peaks: 'samples',
        ceilingDb: 0,
        lookAheadSeconds: 0.0002,
        releaseSeconds: 0.004,
      };
    case 'bassy':
      return {
        ...good,
        bands: [...good.bands, { kind: 'lowshelf', hz: 140, db: 15 }],
        targetLufs: needs.lufs - 0.5,
      };
    case 'thin':
      return {
        ...good,
        bands: [
          ...good.bands,
          { kind: 'lowshelf', hz: 180, db: -7 },
          { kind: 'lowcut', hz: 60 },
          { kind: 'highshelf', hz: 5000, db: 1.5 },
        ],
        compression: { thresholdDb: -24, ratio: 4, attackSeconds: 0.004, releaseSeconds: 0.09, kneeDb: 8 },
        targetLufs: good.ceilingDb - 7.6,
        // Sound this dense grows most in lossy coding; a lower ceiling leaves it with its own fault alone.
        ceilingDb: good.ceilingDb - 1.6,
        lookAheadSeconds: 0.002,
        releaseSeconds: 0.02,
      };
  }
}
