import type { Measurement } from '../measure/measurement.ts';
import type { RoundTrip, RoundTripFailure } from '../survive/round-trip-result.ts';
import type { FileReport } from './file-report.ts';

/** Everything the rules may read of one file. */
export interface Facts {
  readonly file: FileReport['file'];
  readonly measurement: Measurement;
  /** Round trips that were made; empty when they were left out. */
  readonly lossy: readonly RoundTrip[];
  readonly lossyFailed: readonly RoundTripFailure[];
}
