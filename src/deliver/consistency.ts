import type { Measurement } from '../measure/measurement.ts';
import { quantile } from '../measure/quantile.ts';

/** What is held beside each other, song by song. */
export const consistencyFigures = [
  { id: 'loudness', label: 'Loudness', unit: 'LUFS', usual: 2 },
  { id: 'tone', label: 'Tone: 2–20 kHz over 120 Hz–2 kHz', unit: 'dB', usual: 2.5 },
  { id: 'lowEnd', label: 'Low end: under 120 Hz over 120 Hz–2 kHz', unit: 'dB', usual: 2.5 },
  { id: 'width', label: 'Width: side over mid', unit: 'dB', usual: 4 },
] as const;
/** `usual`: how far a song lies from the record's middle before it is told (heuristic). */
export type ConsistencyFigureId = (typeof consistencyFigures)[number]['id'];

/** A song's figures; null where there is nothing to measure. */
export type SongFigures = Readonly<Record<ConsistencyFigureId, number | null>> & {
  readonly truePeakDbtp: number | null;
};

export interface SongStanding {
  readonly figures: SongFigures;
  /** From the record's middle, in the figure's own unit (loudness: LU). */
  readonly from: Readonly<Record<ConsistencyFigureId, number | null>>;
  /** What would bring it to within the usual distance of the middle, dB; absent where it is there. */
  readonly suggestions: Readonly<Partial<Record<ConsistencyFigureId, number>>>;
  /** What players do to it, dB at most 0 (players turn down; not every one turns up). */
  readonly byRecordDb: number | null;
  readonly bySongDb: number | null;
}

export interface RecordConsistency {
  /** The median of each figure. */
  readonly middle: Readonly<Record<ConsistencyFigureId, number | null>>;
  readonly songs: readonly SongStanding[];
  /** What a player does that turns the whole record by one gain, so that its loudest song is at `loudestLufs`, dB at most 0. */
  readonly recordGainDb: number | null;
  /** Largest distance in loudness between two songs, LU: as made, and where each song is turned down by itself. */
  readonly intendedSpreadLu: number | null;
  readonly bySongSpreadLu: number | null;
}

/** AES TD1008 as summarised: the loudest song of a record, and a song by itself, LUFS (src/judge/sources.ts says how surely). */
export const playerLufs = { loudestOfRecord: -14, song: -16 } as const;

export function songFigures({ loudness, peak, tone, stereo }: Measurement): SongFigures {
  const over = (a: number | null, b: number | null) => (a === null || b === null ? null : a - b);
  return {
    loudness: loudness.integratedLufs,
    tone: over(tone.highDb, tone.midDb),
    lowEnd: over(tone.lowDb, tone.midDb),
    width: stereo?.sideToMidDb ?? null,
    truePeakDbtp: peak.truePeakDbtp,
  };
}

/**
 * Songs against each other. Differences may be meant: a suggestion only says what would bring an outlier to within the usual
 * distance (heuristic). How a record is played: turned by one gain after its loudest song, or each song by itself.
 */
export function recordConsistency(songs: readonly SongFigures[]): RecordConsistency {
  const ids = consistencyFigures.map(({ id }) => id);
  const each = <T>(make: (id: ConsistencyFigureId) => T) =>
    Object.fromEntries(ids.map((id) => [id, make(id)])) as Record<ConsistencyFigureId, T>;
  const middle = each((id) => median(songs.map((song) => song[id])));
  const levels = songs.flatMap(({ loudness }) => loudness ?? []);
  const loudest = levels.length === 0 ? null : Math.max(...levels);
  const recordGainDb = loudest === null ? null : Math.min(0, playerLufs.loudestOfRecord - loudest);
  const spread = (values: readonly number[]) =>
    values.length < 2 ? null : Math.max(...values) - Math.min(...values);
  const bySong = (lufs: number) => Math.min(0, playerLufs.song - lufs);
  return {
    middle,
    recordGainDb,
    intendedSpreadLu: spread(levels),
    bySongSpreadLu: spread(levels.map((lufs) => lufs + bySong(lufs))),
    songs: songs.map((figures) => {
      const from = each((id) => {
        const [own, usual] = [figures[id], middle[id]];
        return own === null || usual === null ? null : own - usual;
      });
      const suggestions: Partial<Record<ConsistencyFigureId, number>> = {};
      for (const { id, usual } of consistencyFigures) {
        const distance = from[id];
        if (distance !== null && songs.length > 2 && Math.abs(distance) > usual)
          suggestions[id] = -Math.sign(distance) * (Math.abs(distance) - usual);
      }
      return {
        figures,
        from,
        suggestions,
        byRecordDb: figures.loudness === null ? null : recordGainDb,
        bySongDb: figures.loudness === null ? null : bySong(figures.loudness),
      };
    }),
  };
}

function median(values: readonly (number | null)[]): number | null {
  const known = values.filter((value) => value !== null);
  return known.length === 0
    ? null
    : quantile(
        [...known].sort((a, b) => a - b),
        0.5,
      );
}
