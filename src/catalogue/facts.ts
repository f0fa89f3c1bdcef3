import { deflateRawSync, inflateRawSync } from 'node:zlib';
import { exactJson } from '../bench/json.ts';
import type { Facts } from '../judge/facts.ts';
import type { FileReport } from '../judge/file-report.ts';
import type { ProfileId } from '../judge/profiles.ts';
import { reportOf } from '../judge/report.ts';
import type { Measurement } from '../measure/measurement.ts';

/** What a song is called and said to be in one run; everything else of its facts belongs to the bytes. */
export interface Known {
  readonly name: string;
  readonly kind: Facts['kind'];
  readonly profile: ProfileId;
}

/** Facts as they are kept: a tenth of their size without what there is to draw. */
export function packFacts({ kind: _kind, measurement, file, ...rest }: Facts): Buffer {
  const { traces: _traces, ...figures } = measurement;
  const { name: _name, ...about } = file;
  return deflateRawSync(exactJson({ ...rest, file: about, measurement: figures }));
}

/** Judges kept facts by the rules of today: against another profile nothing is measured again. */
export function judgeFacts(packed: Uint8Array, { name, kind, profile }: Known): FileReport {
  const kept = JSON.parse(inflateRawSync(packed).toString('utf8')) as Omit<Facts, 'kind'>;
  // Rules read figures, none of them the traces, which are not kept.
  const measurement = kept.measurement as Measurement;
  return reportOf({ ...kept, measurement, file: { ...kept.file, name }, kind }, profile);
}
