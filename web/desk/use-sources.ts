import { useEffect, useMemo, useRef } from 'react';
import type { Match, MatchRequest } from '../../src/server/desk-api.ts';
import { useMatch } from '../api/desk-queries.ts';
import type { DeskPlayer, Loop, PlayerSource } from './desk-player.ts';
import { ownStretch, type Row } from './timeline.ts';

/** A part shorter than this has no loudness to match, s (a momentary block of ITU-R BS.1770 is 0.4 s). */
const leastPartSeconds = 0.4;

/** The parts to be matched: what each row plays during `span`; all of each when that is null. */
function partsOf(rows: readonly Row[], span: Loop | null): MatchRequest['parts'] {
  return rows.flatMap((row) => {
    if (row.aligned === 'waiting') return [];
    const part = span ? ownStretch(row, span) : { startSeconds: 0, endSeconds: row.seconds };
    if (!part || part.endSeconds - part.startSeconds < leastPartSeconds) return [];
    // Whole milliseconds: a drag that ends a hair further is the same question.
    const round = (seconds: number) => Math.round(seconds * 1000) / 1000;
    return [
      {
        versionId: row.versionId,
        startSeconds: round(part.startSeconds),
        endSeconds: round(part.endSeconds),
      },
    ];
  });
}

export interface Matching {
  readonly match: Match | undefined;
  /** The player has its sounds: their levels are known. */
  readonly ready: boolean;
  readonly gainDb: (versionId: string) => number;
  /** Being worked out anew; the one before holds until then. */
  readonly pending: boolean;
  /** Why these parts could not be matched; levels that were known before hold. */
  readonly error: Error | null;
  readonly retry: () => void;
}

/** Gives the player its sounds, level-matched on `span` (null: whole songs) while `matching`. */
export function useSources(
  player: DeskPlayer,
  rows: readonly Row[],
  baseVersionId: string,
  lengthSeconds: number,
  span: Loop | null,
  matching: boolean,
  chosen: string | null,
): Matching {
  const parts = useMemo(() => partsOf(rows, span), [rows, span]);
  const asked = useMatch(parts);
  const last = useRef<Match>(undefined);
  if (asked.data) last.current = asked.data;
  const match = last.current;
  const gains = useMemo(() => new Map(match?.parts.map((part) => [part.versionId, part.gainDb])), [match]);
  // A sound whose level is not known yet must not come in louder than the others: it takes the lowest gain of all.
  const lowestDb = Math.min(0, ...gains.values());
  // Nothing long enough to match is no reason to be silent.
  const known = match !== undefined || !matching || parts.length === 0;

  const sources = useMemo<PlayerSource[]>(
    () =>
      rows
        .filter(({ aligned }) => aligned !== 'waiting')
        .map((row) => {
          const onTimeline = row.role === 'version' && row.aligned !== 'unlike';
          return {
            id: row.versionId,
            versionId: row.versionId,
            baseVersionId: onTimeline ? baseVersionId : row.versionId,
            shiftSeconds: onTimeline ? 0 : row.offsetSeconds,
            gainDb: matching ? (gains.get(row.versionId) ?? lowestDb) : 0,
            serviceDb: row.serviceGainDb,
            chain: null,
          };
        }),
    [rows, baseVersionId, gains, lowestDb, matching],
  );
  useEffect(() => {
    // Nothing is played before its level is known, unless that was asked for: it would jump, and louder seems better.
    if (!known) return;
    player.setSources(sources, lengthSeconds);
  }, [player, sources, lengthSeconds, known]);
  useEffect(() => {
    if (known && chosen !== null) player.choose(chosen);
  }, [player, known, chosen]);

  return {
    match,
    ready: known,
    gainDb: (versionId) => gains.get(versionId) ?? lowestDb,
    pending: asked.isFetching,
    error: asked.error,
    retry: () => void asked.refetch(),
  };
}
