import { useMemo } from 'react';
import type { ReferenceSet } from '../../src/server/keeping-api.ts';
import { useDeskReferences } from '../api/desk-queries.ts';
import type { Row } from './timeline.ts';

const none: readonly Row[] = [];

/** The records of a set as rows of the desk: those that are checked. Where they lie is for the desk to say. */
export function useReferences(set: ReferenceSet | null): readonly Row[] {
  const members = set?.members.filter(({ checked }) => checked).map(({ versionId }) => versionId) ?? [];
  const { data } = useDeskReferences(set?.id ?? null, members);
  const rows = useMemo(
    () => data?.map((source) => ({ ...source, role: 'reference' as const, pace: 1 })) ?? none,
    [data],
  );
  return members.length === 0 ? none : rows;
}
