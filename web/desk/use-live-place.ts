import { useEffect, useMemo, useState } from 'react';
import { builtInPlaces, studio } from '../../src/places/built-in-places.ts';
import { type LiveLevel, liveLevel, type Tone } from '../../src/places/live-level.ts';
import type { Place } from '../../src/places/place.ts';
import type { PlaceSettings } from '../../src/places/place-processor.ts';
import { useLevel } from '../api/desk-queries.ts';
import { usePlaces } from '../api/place-queries.ts';
import { useVersions } from '../api/queries.ts';
import { remember, remembered } from '../parts/remembered.ts';
import type { DeskPlayer } from './desk-player.ts';

/** How loud it is there: what people talk over, loud, or a level of one's own, dB(A). */
export type LevelChoice = 'talk-over' | 'loud' | number;
/** Levels of one's own, dB(A). */
export const ownLevelsDba = { lowest: 40, highest: 100 } as const;

interface Choice {
  readonly placeId: string;
  readonly level: LevelChoice;
  readonly noise: boolean;
  readonly playedOn: PlaceSettings['playedOn'];
}

/** What the desk plays now, as far as a place's level hangs on it. */
export interface SentIn {
  /** Whose tone the volume is set by. */
  readonly versionId: string | null;
  /** Loudness that sounds have as they are sent in, LUFS; null while it is not known. */
  readonly lufs: number | null;
  /** The desk's own level, dB. */
  readonly levelDb: number;
}

/** Loudness that is assumed until it is known, LUFS. */
const assumedLufs = -14;
const firstChoice: Choice = {
  placeId: 'car-parked',
  level: 'talk-over',
  // Nothing is heard that was not asked for, least of all noise.
  noise: false,
  playedOn: 'headphones',
};

function keptChoice(): Choice {
  try {
    const kept = JSON.parse(remembered('desk-place') ?? '{}') as Partial<Choice>;
    return {
      placeId: typeof kept.placeId === 'string' ? kept.placeId : firstChoice.placeId,
      level: kept.level === 'loud' ? 'loud' : (ownLevel(kept.level) ?? firstChoice.level),
      noise: kept.noise === true,
      playedOn: kept.playedOn === 'loudspeakers' ? 'loudspeakers' : firstChoice.playedOn,
    };
  } catch {
    return firstChoice;
  }
}

function ownLevel(level: unknown): number | null {
  return typeof level === 'number' && Number.isFinite(level)
    ? Math.min(ownLevelsDba.highest, Math.max(ownLevelsDba.lowest, level))
    : null;
}

export const levelIn = (place: Place, level: LevelChoice): number =>
  level === 'talk-over' ? place.levels.talkOverDba : level === 'loud' ? place.levels.loudDba : level;

/** Where the desk is heard: nowhere but here, in a place, or in the good studio at the same level. */
export function useLivePlace(player: DeskPlayer, { versionId, lufs, levelDb }: SentIn) {
  const library = usePlaces();
  const places = useMemo(() => library.data?.map(({ place }) => place) ?? builtInPlaces, [library.data]);
  const calibration = useLevel().data?.calibration ?? null;
  const [base] = useVersions(versionId === null ? [] : [versionId]);
  const tone: Tone | null = base?.report?.tone ?? null;

  const asked = useMemo(placeOfAddress, []);
  const [choice, setChoice] = useState<Choice>(() => ({ ...keptChoice(), ...asked }));
  const [on, setOn] = useState(asked !== null);
  const [inStudio, setInStudio] = useState(false);
  // The desk's own level moves what is heard here as it moves everything; the place is set by where it stood when chosen.
  const [setAtDb, setSetAtDb] = useState(levelDb);

  const chosen = places.find(({ id }) => id === choice.placeId) ?? places[0] ?? studio;
  const levelDba = levelIn(chosen, choice.level);
  const place = inStudio ? studio : chosen;
  const noise = choice.noise && place.noise !== null;
  const level: LiveLevel = useMemo(
    () =>
      liveLevel({
        place,
        levelDba,
        noise,
        tone,
        lufs: lufs ?? assumedLufs,
        splAtZeroLufsDb: calibration?.splAtZeroLufsDb ?? null,
        levelDb: setAtDb,
      }),
    [place, levelDba, noise, tone, lufs, calibration, setAtDb],
  );
  const { fullScaleDb, gainDb } = level;
  const { playedOn } = choice;
  useEffect(() => {
    const settings = { fullScaleDb, playedOn, monitorFullScaleDb: null, noise };
    player.setPlace(on ? { place, settings, gainDb } : null);
  }, [player, on, place, noise, playedOn, fullScaleDb, gainDb]);

  const change = (part: Partial<Choice>) => {
    const next = { ...choice, ...part };
    setChoice(next);
    setSetAtDb(levelDb);
    remember('desk-place', JSON.stringify(next));
  };
  const turn = (next: boolean) => {
    setSetAtDb(levelDb);
    setInStudio(false);
    setOn(next);
  };
  return {
    places,
    on,
    inStudio,
    /** The chosen one, also while the studio stands in for it. */
    chosen,
    place,
    choice,
    levelDba,
    noise,
    level,
    /** By how much the desk's own level was turned since, dB. */
    turnedDb: levelDb - setAtDb,
    calibrated: calibration !== null,
    failed: library.isError && !library.data ? library.error : null,
    turn,
    choose: (placeId: string) => {
      change({ placeId });
      setInStudio(false);
      setOn(true);
    },
    setLevel: (next: LevelChoice) => change({ level: ownLevel(next) ?? next }),
    setPlayedOn: (next: Choice['playedOn']) => change({ playedOn: next }),
    acts: {
      place: () => turn(!on),
      'next-place': () => {
        const at = places.indexOf(chosen);
        change({ placeId: places[(at + 1) % places.length]?.id ?? choice.placeId });
        setInStudio(false);
        setOn(true);
      },
      studio: () => {
        setOn(true);
        setInStudio(!(on && inStudio));
      },
      'place-level': () => change({ level: choice.level === 'talk-over' ? 'loud' : 'talk-over' }),
      'place-noise': () => change({ noise: !choice.noise }),
    },
  };
}

/** The place that an address asks for: `place`, and `placeLevelDba` for the level there. */
function placeOfAddress(): Partial<Choice> | null {
  const asked = new URLSearchParams(window.location.search);
  const placeId = asked.get('place');
  if (!placeId) return null;
  const level = ownLevel(Number.parseFloat(asked.get('placeLevelDba') ?? ''));
  return { placeId, ...(level === null ? {} : { level }) };
}
