import type { Measurement } from '../measure/measurement.ts';
import type { RoundTrip, RoundTripFailure } from '../survive/round-trip-result.ts';
import type { FileReport } from './file-report.ts';

/** Everything the rules may read of one file. */
export interface Facts {
  readonly file: FileReport['file'];
  /** What the file is said to be: rules for mixes read it, and the profile that is held against it by default. */
  readonly kind: FileReport['kind'];
  readonly measurement: Measurement;
  /** Round trips that were made; empty when they were left out. */
  readonly lossy: readonly RoundTrip[];
  readonly lossyFailed: readonly RoundTripFailure[];
}
