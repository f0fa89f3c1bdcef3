import { CodedError } from '../audio/coded-error.ts';
import { type PartKindId, partKind, partKinds } from './kinds.ts';
import type { PartKind } from './part.ts';
import { readSettings, type SettingValues } from './settings.ts';

/** The version of the form that chains are kept in. */
export const chainVersion = 1;
/** A chain has so many parts at most. */
export const mostParts = 32;

/** One part in a chain. */
export interface ChainPart {
  /** Tells it from the others of its chain, and is kept when it moves or changes. */
  readonly id: string;
  readonly kind: PartKindId;
  readonly bypassed: boolean;
  readonly settings: SettingValues;
}

/** Parts in order, as plain data. Never changed: every function here answers with another chain. */
export interface Chain {
  readonly version: typeof chainVersion;
  readonly parts: readonly ChainPart[];
}

export const emptyChain: Chain = { version: chainVersion, parts: [] };

/**
 * Plain data (from a file, from a client) as a chain with every setting filled in. Throws CHAIN_INVALID with a sentence that
 * names what is wrong: another version, an unknown kind, two parts of one id, a setting out of its range.
 */
export function readChain(data: unknown): Chain {
  const { version, parts, ...more } = record(data, 'A chain');
  if (version !== chainVersion)
    refuse(
      `A chain of version ${String(version)} cannot be read here; this Everyroom knows version ${chainVersion}.`,
    );
  if (Object.keys(more).length > 0) refuse(`A chain has no “${Object.keys(more)[0]}”.`);
  if (!Array.isArray(parts) || parts.length > mostParts)
    refuse(`A chain has a list of at most ${mostParts} parts.`);
  const ids = new Set<string>();
  return {
    version: chainVersion,
    parts: parts.map((each, i) => {
      const { id, kind, bypassed = false, settings, ...rest } = record(each, `Part ${i + 1} of the chain`);
      if (Object.keys(rest).length > 0)
        refuse(`Part ${i + 1} of the chain has no “${Object.keys(rest)[0]}”.`);
      if (typeof bypassed !== 'boolean') refuse(`“bypassed” of part ${i + 1} is true or false.`);
      const known = kindOf(kind);
      const name = id === undefined ? freeId(known.id, ids) : id;
      if (typeof name !== 'string' || name === '' || name.length > 60)
        refuse(`The id of part ${i + 1} is a short text.`);
      if (ids.has(name)) refuse(`Two parts of the chain have the id “${name}”.`);
      ids.add(name);
      return { id: name, kind: known.id, bypassed, settings: settingsOf(known, settings) };
    }),
  };
}

/** With a new part, at the end when no place is told; settings left out take their defaults. */
export function addPart(
  chain: Chain,
  kind: PartKindId,
  settings: object = {},
  at = chain.parts.length,
): Chain {
  const known = kindOf(kind);
  if (chain.parts.length >= mostParts) refuse(`A chain has at most ${mostParts} parts.`);
  const ids = new Set(chain.parts.map(({ id }) => id));
  const part: ChainPart = {
    id: freeId(known.id, ids),
    kind: known.id,
    bypassed: false,
    settings: settingsOf(known, settings),
  };
  return { ...chain, parts: chain.parts.toSpliced(at, 0, part) };
}

/** With a part at another place, 0 being the first. */
export function movePart(chain: Chain, id: string, to: number): Chain {
  const from = indexOf(chain, id);
  if (!Number.isInteger(to) || to < 0 || to >= chain.parts.length)
    refuse(`A chain of ${chain.parts.length} has no place ${to}.`);
  return { ...chain, parts: chain.parts.toSpliced(from, 1).toSpliced(to, 0, chain.parts[from]) };
}

/** With other values for some of a part's settings. */
export function changePart(chain: Chain, id: string, settings: object): Chain {
  const i = indexOf(chain, id);
  const part = chain.parts[i];
  const changed = settingsOf(kindOf(part.kind), { ...part.settings, ...settings });
  return { ...chain, parts: chain.parts.with(i, { ...part, settings: changed }) };
}

/** With a part passed by, or no longer. */
export function bypassPart(chain: Chain, id: string, bypassed: boolean): Chain {
  const i = indexOf(chain, id);
  return { ...chain, parts: chain.parts.with(i, { ...chain.parts[i], bypassed }) };
}

export function removePart(chain: Chain, id: string): Chain {
  return { ...chain, parts: chain.parts.toSpliced(indexOf(chain, id), 1) };
}

/** What was, is and would be again: undo and redo without end, as plain data. */
export interface ChainHistory {
  readonly past: readonly Chain[];
  readonly present: Chain;
  readonly future: readonly Chain[];
}

export function beginHistory(present: Chain): ChainHistory {
  return { past: [], present, future: [] };
}

export function step(history: ChainHistory, present: Chain): ChainHistory {
  return { past: [...history.past, history.present], present, future: [] };
}

/** The same history when there is nothing to undo. */
export function undo({ past, present, future }: ChainHistory): ChainHistory {
  const before = past.at(-1);
  return before
    ? { past: past.slice(0, -1), present: before, future: [present, ...future] }
    : { past, present, future };
}

/** The same history when there is nothing to do again. */
export function redo({ past, present, future }: ChainHistory): ChainHistory {
  const [next, ...rest] = future;
  return next ? { past: [...past, present], present: next, future: rest } : { past, present, future };
}

/** The kind of a part that was read: it is known. */
export function kindOf(id: unknown): PartKind & { readonly id: PartKindId } {
  const kind = typeof id === 'string' ? partKind(id) : undefined;
  if (!kind)
    refuse(
      `There is no part of kind “${String(id)}”; there are ${partKinds.map((each) => each.id).join(', ')}.`,
    );
  return kind as PartKind & { readonly id: PartKindId };
}

function settingsOf(kind: PartKind, data: unknown): SettingValues {
  return readSettings(kind.fields, data, kind.name) as SettingValues;
}

function freeId(kind: string, taken: ReadonlySet<string>): string {
  for (let n = 1; ; n++) if (!taken.has(`${kind}-${n}`)) return `${kind}-${n}`;
}

function indexOf(chain: Chain, id: string): number {
  const i = chain.parts.findIndex((part) => part.id === id);
  if (i < 0) refuse(`The chain has no part “${id}”.`);
  return i;
}

function record(data: unknown, what: string): Record<string, unknown> {
  if (typeof data !== 'object' || data === null || Array.isArray(data)) refuse(`${what} must be an object.`);
  return data as Record<string, unknown>;
}

function refuse(sentence: string): never {
  throw new CodedError('CHAIN_INVALID', sentence);
}
