import { useMemo } from 'react';
import type { ReferenceSet } from '../../src/server/keeping-api.ts';
import { useVersions } from '../api/queries.ts';
import type { Row } from './timeline.ts';

/** The records of a set as rows of the desk: those that are checked. Where they lie is for the desk to say. */
export function useReferences(set: ReferenceSet | null): readonly Row[] {
  const members = set?.members.filter(({ checked }) => checked) ?? [];
  const details = useVersions(members.map(({ versionId }) => versionId));
  return useMemo(
    () =>
      details.flatMap((detail) => {
        const report = detail?.report;
        if (!detail || !report) return [];
        const member = set?.members.find(({ versionId }) => versionId === detail.id);
        return [
          {
            versionId: detail.id,
            name: detail.name,
            songTitle: member?.songTitle ?? '',
            role: 'reference' as const,
            seconds: report.file.seconds,
            integratedLufs: report.loudness.integratedLufs,
            sections: report.sections.sections,
            loudestSection: report.sections.loudest,
            aligned: 'itself' as const,
            reason: null,
            inverted: false,
            offsetSeconds: 0,
            pace: 1,
          },
        ];
      }),
    [details, set],
  );
}
