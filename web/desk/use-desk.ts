import { useEffect, useMemo, useRef, useState } from 'react';
import type { DeskSong } from '../../src/server/desk-api.ts';
import { remember, remembered } from '../parts/remembered.ts';
import { around, type View } from '../plots/plot.tsx';
import type { DeskPlayer, Hearing, Loop } from './desk-player.ts';
import { plainHearing } from './desk-player.ts';
import { onFrame } from './frames.ts';
import type { DeskAct } from './key-table.ts';
import {
  type Place,
  type Row,
  sectionAt,
  sectionStart,
  songSeconds,
  sounds,
  versionRow,
} from './timeline.ts';
import { useLivePlace } from './use-live-place.ts';
import { usePlayerState } from './use-player.ts';
import { type Matching, useSources } from './use-sources.ts';

/** On which part loudness is matched. */
export type MatchPart = 'whole' | 'section' | 'loop';

export const bandOrder = ['all', 'low', 'low-mid', 'presence', 'air'] as const satisfies Hearing['band'][];

/** Level of the first visit, dB: start low. */
const firstLevelDb = -20;
const leastLevelDb = -40;
/** Loop where no sections were found, s. */
const plainLoopSeconds = 8;
const leastLoopSeconds = 0.2;
/** How far the playhead may be out of view and still have just gone out of it, s. */
const pageSlackSeconds = 0.25;

const noSections: Row['sections'] = [];

function keptLevel(): number {
  const kept = Number(remembered('desk-level') ?? Number.NaN);
  return Number.isFinite(kept) ? Math.max(leastLevelDb, Math.min(0, kept)) : firstLevelDb;
}

function sentLufs(
  { service }: Hearing,
  matching: boolean,
  { match }: Matching,
  row: Row | undefined,
): number | null {
  const own = row?.integratedLufs ?? null;
  if (service) return own === null || !row ? null : own + row.serviceGainDb;
  return matching ? (match?.matchedLufs ?? null) : own;
}

/** Everything the desk knows and does; its parts only show it and call it. */
export function useDesk(song: DeskSong, references: readonly Row[], player: DeskPlayer) {
  const state = usePlayerState(player);
  const versions = useMemo(() => song.sources.map(versionRow), [song.sources]);
  const base = versions.find(({ versionId }) => versionId === song.baseVersionId);
  const sections = base?.sections ?? noSections;
  const lengthSeconds = versions.reduce((end, row) => Math.max(end, songSeconds(row, row.seconds)), 0);

  const [hearing, setHearing] = useState<Hearing>(() => ({ ...plainHearing, levelDb: keptLevel() }));
  const [chosenId, setChosenId] = useState<string | null>(null);
  const [before, setBefore] = useState<string | null>(null);
  const [loop, setLoopState] = useState<Loop | null>(null);
  const [loopFrom, setLoopFrom] = useState<number | null>(null);
  const [matching, setMatching] = useState(true);
  const [part, setPart] = useState<MatchPart>('whole');
  const [places, setPlaces] = useState<Readonly<Record<string, Place>>>({});
  const [anchor, setAnchor] = useState<number | null>(null);
  const [section, setSection] = useState<number | null>(null);
  /** The section gone to last, by choice. */
  const [held, setHeld] = useState<number | null>(null);
  const [view, setView] = useState<View>(null);
  const [remark, setRemark] = useState('');

  const anchorSeconds = anchor ?? sections[base?.loudestSection ?? -1]?.startSeconds ?? 0;
  const placeOf = (row: Row): Place =>
    places[row.versionId] ?? { section: row.loudestSection, atSeconds: anchorSeconds };
  // biome-ignore lint/correctness/useExhaustiveDependencies: placeOf reads places and anchorSeconds, which are named
  const rows = useMemo(
    () => [
      ...versions,
      ...references.map((row) => {
        const { section: index, atSeconds } = placeOf(row);
        const start = index === null ? 0 : (row.sections[index]?.startSeconds ?? 0);
        return { ...row, offsetSeconds: start - atSeconds };
      }),
    ],
    [versions, references, places, anchorSeconds],
  );
  const rowOf = (versionId: string | null) => rows.find((row) => row.versionId === versionId);
  // The newest version is what one came to hear.
  const chosen = rowOf(chosenId) ?? versions.findLast(({ aligned }) => aligned !== 'waiting');
  const chosenNow = chosen?.versionId ?? null;

  // Playing on into another section must not change the levels under the ears: only a choice does.
  const matchedSection = held === null ? null : (sections[held] ?? null);
  const span = useMemo<Loop | null>(() => {
    if (part === 'loop') return loop;
    if (part === 'section' && matchedSection)
      return { startSeconds: matchedSection.startSeconds, endSeconds: matchedSection.endSeconds };
    return null;
  }, [part, loop, matchedSection]);
  const levels: Matching = useSources(
    player,
    rows,
    song.baseVersionId,
    lengthSeconds,
    span,
    matching,
    chosenNow,
  );

  // Asked to play before the levels are known: it begins as soon as they are.
  const [wished, setWished] = useState(false);
  useEffect(() => {
    if (!wished || !levels.ready) return;
    setWished(false);
    void player.play();
  }, [player, wished, levels.ready]);

  // A place's volume is set once, for the song; what else is heard there does not turn it.
  const live = useLivePlace(player, {
    versionId: base?.versionId ?? null,
    lufs: sentLufs(hearing, matching, levels, base),
    levelDb: hearing.levelDb,
  });
  useEffect(() => player.setHearing(hearing), [player, hearing]);
  useEffect(() => player.setLoop(loop), [player, loop]);

  // What follows the position at the pace of sections and pages, not of frames.
  const shown = useRef({ section, view });
  shown.current = { section, view };
  useEffect(
    () =>
      onFrame(() => {
        const at = player.position();
        const here = sectionAt(sections, at);
        if (here !== shown.current.section) setSection(here);
        const { view: seen } = shown.current;
        // It went out at the right: turn the page. Where someone looks on purpose, it stays.
        if (!seen || player.state.state !== 'playing' || at < seen.to || at > seen.to + pageSlackSeconds)
          return;
        const width = seen.to - seen.from;
        const from = Math.min(lengthSeconds - width, at);
        setView({ from, to: from + width });
      }),
    [player, sections, lengthSeconds],
  );

  const seek = (seconds: number) => {
    const to = Math.max(0, Math.min(lengthSeconds, seconds));
    setHeld(sectionAt(sections, to));
    player.seek(to);
  };
  const choosePart = (next: MatchPart) => {
    if (next === 'section') setHeld(sectionAt(sections, player.position()));
    setPart(next);
  };
  const goToSection = (startSeconds: number) => {
    setAnchor(startSeconds);
    seek(startSeconds);
  };

  const setLoop = (next: Loop | null) => {
    setLoopFrom(null);
    if (!next) {
      setLoopState(null);
      setPart((now) => (now === 'loop' ? 'whole' : now));
      return;
    }
    const startSeconds = Math.max(0, Math.min(next.startSeconds, lengthSeconds - leastLoopSeconds));
    const endSeconds = Math.min(lengthSeconds, Math.max(next.endSeconds, startSeconds + leastLoopSeconds));
    setLoopState({ startSeconds, endSeconds });
    setPart((now) => (now === 'whole' ? 'loop' : now));
    // References that nobody put anywhere come along, unless one is being heard there.
    if (chosen?.role !== 'reference' || !sounds(chosen, startSeconds)) setAnchor(startSeconds);
    const at = player.position();
    if (at < startSeconds || at >= endSeconds) seek(startSeconds);
  };

  const canDiffer = (row: Row | undefined, from: Row | undefined) =>
    row !== undefined &&
    from !== undefined &&
    row !== from &&
    [row, from].every(
      (each) => each.role === 'version' && (each.aligned === 'aligned' || each.aligned === 'itself'),
    );

  const choose = (versionId: string) => {
    const row = rowOf(versionId);
    if (!row || row.aligned === 'waiting') return;
    setRemark('');
    if (versionId === chosenNow) return;
    const at = player.position();
    // A reference that would be silent here is laid where it can be heard.
    if (row.role === 'reference' && !sounds(row, at)) {
      const startSeconds = sections[sectionAt(sections, at) ?? -1]?.startSeconds ?? at;
      if (places[versionId])
        setPlaces({ ...places, [versionId]: { section: placeOf(row).section, atSeconds: startSeconds } });
      else setAnchor(startSeconds);
    }
    setBefore(chosenNow);
    setChosenId(versionId);
    if (hearing.minus !== null) {
      const other = rowOf(hearing.minus === versionId ? chosenNow : hearing.minus);
      setHearing({ ...hearing, minus: canDiffer(other, row) ? (other?.versionId ?? null) : null });
      if (!canDiffer(other, row))
        setRemark('The difference was switched off: it needs two versions in step.');
    }
    player.choose(versionId);
  };

  /** The next or the one before in the list, round its ends; those that cannot be heard yet are passed over. */
  const step = (direction: -1 | 1) => () => {
    const able = rows.filter(({ aligned }) => aligned !== 'waiting');
    const at = able.findIndex(({ versionId }) => versionId === chosenNow);
    const next = able.at((at + direction) % able.length);
    if (next) choose(next.versionId);
  };

  const toggleMinus = () => {
    if (hearing.minus !== null) return setHearing({ ...hearing, minus: null });
    const other = canDiffer(rowOf(before ?? null), chosen)
      ? rowOf(before)
      : versions.findLast((row) => canDiffer(row, chosen));
    if (!other) return setRemark('A difference needs two versions of the song that lie in step.');
    setRemark('');
    setHearing({ ...hearing, minus: other.versionId });
  };

  const setLevel = (levelDb: number) => {
    const kept = Math.max(leastLevelDb, Math.min(0, levelDb));
    remember('desk-level', String(kept));
    setHearing((now) => ({ ...now, levelDb: kept }));
  };

  const setFold = (fold: 'mono' | 'side') =>
    setHearing({ ...hearing, fold: hearing.fold === fold ? 'stereo' : fold });

  const zoom = (factor: number) =>
    setView((shown) => {
      const { from, to } = shown ?? { from: 0, to: lengthSeconds };
      const at = player.position();
      const about = at >= from && at <= to ? at : (from + to) / 2;
      return around(from, to, about, factor, 0, lengthSeconds);
    });

  const move = (seconds: number) => () => seek(player.position() + seconds);
  const turn = (direction: -1 | 1) => () => {
    const start = sectionStart(sections, player.position(), direction);
    if (start !== null) goToSection(start);
  };

  /** What the keys and the buttons do; `note` and `keys` are the screen's own. */
  const acts: Record<Exclude<DeskAct, 'play' | 'choose' | 'note' | 'keys'>, () => void> = {
    earlier: move(-2),
    later: move(2),
    'far-earlier': move(-10),
    'far-later': move(10),
    'bit-earlier': move(-0.1),
    'bit-later': move(0.1),
    'section-before': turn(-1),
    'section-after': turn(1),
    loop: () => {
      if (loop) return setLoop(null);
      const at = player.position();
      const here = sections[sectionAt(sections, at) ?? -1];
      setLoop(here ?? { startSeconds: at, endSeconds: at + plainLoopSeconds });
    },
    'loop-start': () => {
      const at = player.position();
      if (loop && loop.endSeconds > at) setLoop({ ...loop, startSeconds: at });
      else {
        setLoop(null);
        setLoopFrom(at);
      }
    },
    'loop-end': () => {
      const at = player.position();
      const from = loopFrom ?? loop?.startSeconds ?? 0;
      if (at > from) setLoop({ startSeconds: from, endSeconds: at });
      else setRemark('The loop would end before it begins.');
    },
    back: () => before !== null && choose(before),
    next: step(1),
    previous: step(-1),
    match: () => setMatching(!matching),
    service: () => setHearing({ ...hearing, service: !hearing.service }),
    mono: () => setFold('mono'),
    side: () => setFold('side'),
    swap: () => setHearing({ ...hearing, swap: !hearing.swap }),
    flip: () => setHearing({ ...hearing, flip: !hearing.flip }),
    band: () =>
      setHearing({
        ...hearing,
        band: bandOrder[(bandOrder.indexOf(hearing.band) + 1) % bandOrder.length] ?? 'all',
      }),
    minus: toggleMinus,
    quiet: () => setHearing({ ...hearing, quiet: !hearing.quiet }),
    softer: () => setLevel(hearing.levelDb - 1),
    louder: () => setLevel(hearing.levelDb + 1),
    'zoom-in': () => zoom(0.5),
    'zoom-out': () => zoom(2),
    whole: () => setView(null),
    ...live.acts,
  };

  return {
    song,
    player,
    state,
    running: wished || state.state === 'playing' || state.state === 'loading',
    play: () => {
      // In the very press, even when it is too early: some browsers let sound begin nowhere else.
      void player.play();
      if (levels.ready) return;
      setWished(true);
      if (levels.error) levels.retry();
    },
    pause: () => {
      setWished(false);
      player.pause();
    },
    rows,
    sections,
    lengthSeconds,
    chosen,
    before: rowOf(before),
    hearing,
    setHearing,
    live,
    /** How loud what is heard is sent in, LUFS, before the desk's own level; null when it has no loudness. */
    sentIn: sentLufs(hearing, matching, levels, chosen),
    setLevel,
    loop,
    loopFrom,
    setLoop,
    section,
    matching,
    part,
    /** The section that levels are matched on, while they are. */
    matchedSection,
    setPart: choosePart,
    levels,
    view,
    setView,
    remark,
    placeOf,
    setPlace: (versionId: string, place: Place) => setPlaces({ ...places, [versionId]: place }),
    choose,
    seek,
    goToSection,
    acts,
  };
}

export type Desk = ReturnType<typeof useDesk>;
