import { addPart, type Chain } from './chain.ts';
import { type PartKindId, partKinds } from './kinds.ts';

/** Parts to be taken into a chain: one equaliser with these bands, and others. */
export interface TakenOver {
  /** Settings of bands of the equaliser. */
  readonly bands: readonly object[];
  readonly parts: readonly { readonly kind: PartKindId; readonly settings: object }[];
}

/**
 * A chain with what was taken over, each part where its kind usually stands (the order of `partKinds`), after those of its own kind.
 * Bands come as an equaliser of their own, so that all of them can be bypassed, heard and taken out as one. Throws
 * CHAIN_INVALID as addPart does.
 */
export function takeOver(chain: Chain, { bands, parts }: TakenOver): Chain {
  const added = [
    ...(bands.length > 0 ? [{ kind: 'equaliser' as const, settings: { bands } }] : []),
    ...parts,
  ];
  return added.reduce(
    (before, { kind, settings }) => addPart(before, kind, settings, usualPlace(before, kind)),
    chain,
  );
}

function usualPlace({ parts }: Chain, kind: PartKindId): number {
  const rank = (id: PartKindId) => partKinds.findIndex((each) => each.id === id);
  const after = parts.findLastIndex((part) => rank(part.kind) <= rank(kind));
  return after + 1;
}
