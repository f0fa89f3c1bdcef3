import { compressor } from './compressor.ts';
import { dither } from './dither.ts';
import { equaliser } from './equaliser.ts';
import { fades } from './fades.ts';
import { limiter } from './limiter.ts';
import { multiband } from './multiband.ts';
import type { PartKind } from './part.ts';
import { rate } from './rate.ts';
import { saturation } from './saturation.ts';
import { subFilter } from './sub-filter.ts';
import { trim } from './trim.ts';
import { width } from './width.ts';

/** Every kind of part, in the order a chain usually has them. */
export const partKinds = [
  trim,
  subFilter,
  equaliser,
  width,
  multiband,
  compressor,
  saturation,
  rate,
  fades,
  limiter,
  dither,
] as const;

export type PartKindId = (typeof partKinds)[number]['id'];

/** The kind that chains call `id`, or undefined. */
export function partKind(id: string): PartKind | undefined {
  // A kind handles only settings that were read with its own fields: chains see to that.
  return partKinds.find((kind) => kind.id === id) as PartKind | undefined;
}
