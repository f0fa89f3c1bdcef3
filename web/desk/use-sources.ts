import { useEffect, useMemo, useRef } from 'react';
import { profiles } from '../../src/judge/profiles.ts';
import type { Match, MatchRequest } from '../../src/server/desk-api.ts';
import { useMatch } from '../api/desk-queries.ts';
import type { DeskPlayer, Loop, PlayerSource } from './desk-player.ts';
import { ownStretch, type Row } from './timeline.ts';

/** What a service brings songs to when it plays all at one loudness, LUFS (AES TD1008, by its profile). */
const serviceLufs = profiles.find(({ id }) => id === 'streaming')!.loudness!.targetLufs;
/** A part shorter than this has no loudness to match, s (a momentary block of ITU-R BS.1770 is 0.4 s). */
const leastPartSeconds = 0.4;

/** What a service would turn a row by, dB; services turn down, and not every one turns up. */
export const serviceDb = (row: Row) =>
  row.integratedLufs === null ? 0 : Math.min(0, serviceLufs - row.integratedLufs);

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
  readonly error: Error | null;
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
  const known = match !== undefined || asked.isError;

  const sources = useMemo<PlayerSource[]>(
    () =>
      rows
        .filter(({ aligned }) => aligned !== 'waiting')
        .map((row) => {
          const onTimeline = row.role === 'version' && row.aligned !== 'unlike';
          return {
            versionId: row.versionId,
            baseVersionId: onTimeline ? baseVersionId : row.versionId,
            shiftSeconds: onTimeline ? 0 : row.offsetSeconds,
            gainDb: matching ? (gains.get(row.versionId) ?? 0) : 0,
            serviceDb: serviceDb(row),
          };
        }),
    [rows, baseVersionId, gains, matching],
  );
  useEffect(() => {
    // Nothing is played before its level is known: it would jump.
    if (!known) return;
    player.setSources(sources, lengthSeconds);
  }, [player, sources, lengthSeconds, known]);
  useEffect(() => {
    if (known && chosen !== null) player.choose(chosen);
  }, [player, known, chosen]);

  return {
    match,
    ready: known,
    gainDb: (versionId) => gains.get(versionId) ?? 0,
    pending: asked.isFetching,
    error: asked.error,
  };
}
