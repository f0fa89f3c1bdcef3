import { useEffect, useEffectEvent, useMemo, useRef, useState } from 'react';
import { Link } from 'wouter';
import type { DeskSong, Level } from '../../src/server/desk-api.ts';
import { ApiFailure } from '../api/client.ts';
import { useDeskSong, useLevel, useLevelChanges } from '../api/desk-queries.ts';
import { useNotes } from '../api/keeping-queries.ts';
import { useChanges, useSong } from '../api/queries.ts';
import { Caution } from '../desk/caution.tsx';
import type { DeskPlayer } from '../desk/desk-player.ts';
import { HearingTools } from '../desk/hearing-tools.tsx';
import { KeyList, useKeysOn } from '../desk/key-list.tsx';
import { actFor, belongsElsewhere } from '../desk/keys.ts';
import { LevelPanel } from '../desk/level-panel.tsx';
import { marksOf, ownNow, Plots, useDrawn, WaveformView } from '../desk/looking.tsx';
import { useLoopFromAddress } from '../desk/loop-from-address.ts';
import { PlacePanel } from '../desk/place-panel.tsx';
import { SourcesList } from '../desk/sources-list.tsx';
import { type Row, songSeconds } from '../desk/timeline.ts';
import { Transport, TransportRest } from '../desk/transport.tsx';
import { useDesk } from '../desk/use-desk.ts';
import { breakMinutes, useListeningClock } from '../desk/use-listening-clock.ts';
import { usePlayer } from '../desk/use-player.ts';
import { useReferences } from '../desk/use-references.ts';
import { type NotesHandle, NotesPanel } from '../notes/notes-panel.tsx';
import { CheckAll } from '../parts/check-all.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useNarrow } from '../parts/narrow.ts';
import { useTitle } from '../parts/theme.tsx';
import { VerdictLine } from '../parts/verdict-line.tsx';
import { type ChosenSet, SetSelect, useChosenSet } from '../sets/set-choice.tsx';
import { StandingView } from '../sets/standing.tsx';
import { WindowDrop } from '../uploads/drop-place.tsx';
import { UploadList } from '../uploads/upload-list.tsx';

/** The listening desk of one song: its versions and a reference set in step, at equal loudness. */
export function DeskScreen({ id }: { id: string }) {
  const song = useDeskSong(id);
  const level = useLevel();
  const chosenSet = useChosenSet();
  const references = useReferences(chosenSet.set);
  const player = usePlayer();
  useTitle(song.data ? `Listening: ${song.data.title}` : 'Listening desk');
  const failed = song.isError && !song.data ? song : level;
  if (failed.isError && !failed.data)
    return failed === song && song.error instanceof ApiFailure && song.error.status === 404 ? (
      <NothingToHear id={id} error={song.error} />
    ) : (
      <Unanswered error={failed.error} retry={() => void failed.refetch()} />
    );
  if (!song.data || !level.data || !player) return <Message title="Setting out the desk…" />;
  return (
    <DeskSheet
      song={song.data}
      level={level.data}
      player={player}
      references={references}
      chosenSet={chosenSet}
    />
  );
}

/** A song of which nothing is checked: what stands in the way, version by version. */
export function NothingToHear({ id, error }: { id: string; error: Error }) {
  const song = useSong(id);
  const changes = useChanges();
  const retry = () => void song.refetch();
  if (!song.data) return <Unanswered error={song.error ?? error} retry={retry} />;
  const { versions, title } = song.data;
  return (
    <Message title={`Nothing of ${title} can be heard yet.`}>
      {versions.length === 0 && <p className="sentence">The song has no version. Drop a file on it first.</p>}
      <ul className="change-words">
        {versions.map((version) => (
          <li key={version.id}>
            <Link href={`/versions/${version.id}`} className="version-link">
              {version.name}
            </Link>
            <VerdictLine version={version} changes={changes} />
          </li>
        ))}
      </ul>
      <p className="paperwork">
        <CheckAll versions={versions} changes={changes} />
        <Link href={`/songs/${id}`}>Back to the song</Link>
      </p>
    </Message>
  );
}

function DeskSheet({
  song,
  level,
  player,
  references,
  chosenSet,
}: {
  song: DeskSong;
  level: Level;
  player: DeskPlayer;
  references: readonly Row[];
  chosenSet: ChosenSet;
}) {
  const desk = useDesk(song, references, player);
  useLoopFromAddress(desk);
  const { patchLevel } = useLevelChanges();
  const narrow = useNarrow();
  const [keysOn, setKeysOn] = useKeysOn();
  const [listOpen, setListOpen] = useState(false);
  const [rested, setRested] = useState<number | null>(null);
  const notesPanel = useRef<NotesHandle>(null);
  useListeningClock(player, desk.state.state);

  // Notes are written on versions: while a reference is heard, on the version heard before it.
  const lastVersion = useRef<string | null>(null);
  if (desk.chosen?.role === 'version') lastVersion.current = desk.chosen.versionId;
  const noted =
    desk.rows.find(({ versionId }) => versionId === lastVersion.current) ??
    desk.rows.find(({ role }) => role === 'version')!;
  const notes = useNotes(noted.versionId);
  const marks = useMemo(() => marksOf(notes.data ?? [], noted), [notes.data, noted]);
  const { drawn, error } = useDrawn(desk.chosen);

  const firstReference = desk.rows.find(({ role }) => role === 'reference');
  const start = () => {
    setRested(null);
    desk.play();
  };
  const play = () => {
    if (desk.running) return desk.pause();
    const minutes = breakMinutes();
    if (minutes !== null && rested === null && firstReference && desk.chosen?.role === 'version')
      return setRested(minutes);
    start();
  };
  const beginNote = () => notesPanel.current?.begin(ownNow(desk, noted), null);

  const onKey = useEffectEvent((event: KeyboardEvent) => {
    if (!keysOn || !level.cautionRead || belongsElsewhere(event)) return;
    const asked = actFor(event);
    if (!asked) return;
    // A key held down repeats where that is of use: moving along.
    if (event.repeat && !event.key.startsWith('Arrow') && !',.+-'.includes(event.key)) return;
    event.preventDefault();
    if (asked.act === 'play') play();
    else if (asked.act === 'note') beginNote();
    else if (asked.act === 'keys') setListOpen(true);
    else if (asked.act === 'choose') {
      const row = desk.rows[asked.number - 1];
      if (row) desk.choose(row.versionId);
    } else desk.acts[asked.act]();
  });
  useEffect(() => {
    // Letting go of Space would still click a button that has the focus.
    let taken = false;
    const down = (event: KeyboardEvent) => {
      onKey(event);
      if (event.key === ' ') taken = event.defaultPrevented;
    };
    const up = (event: KeyboardEvent) => {
      if (event.key === ' ' && taken) event.preventDefault();
    };
    window.addEventListener('keydown', down);
    window.addEventListener('keyup', up);
    return () => {
      window.removeEventListener('keydown', down);
      window.removeEventListener('keyup', up);
    };
  }, []);

  return (
    <div className="sheet desk">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/">Bench</Link> / <Link href={`/songs/${song.songId}`}>{song.title}</Link>
          </nav>
          <p className="note">The listening desk</p>
        </div>
        <div className="body">
          <h1 className="headline">{song.title}</h1>
          <p className="note desk-keys-line">
            <kbd>Space</kbd> plays, <kbd>1</kbd> to <kbd>9</kbd> choose what is heard, at the same place and
            at equal loudness.{' '}
            <button type="button" className="plain" aria-keyshortcuts="?" onClick={() => setListOpen(true)}>
              All keys{' '}
              <span className="key-cap" aria-hidden="true">
                ?
              </span>
            </button>
            {!keysOn && ' Single keys are turned off.'}
          </p>
          <UploadList songId={song.songId} />
          <WindowDrop songId={song.songId} />
        </div>
      </div>
      <div className="entry desk-top">
        <div className="margin">
          <SetSelect chosen={chosenSet} />
          <HowToFill chosenSet={chosenSet} count={references.length} />
        </div>
        <div className="body">
          <SourcesList desk={desk} />
        </div>
      </div>
      <div className="entry desk-transport">
        <div className="margin" />
        <div className="body">
          <Transport desk={desk} narrow={narrow} onPlay={play} />
          {rested !== null && firstReference && (
            <div className="rested" role="status">
              <p className="sentence">
                You had {rested} minutes of quiet. Ears come back fresh: hear a reference first, so that you
                know again what a finished record sounds like here.
              </p>
              <button
                type="button"
                className="primary"
                onClick={() => {
                  desk.choose(firstReference.versionId);
                  start();
                }}
              >
                Hear {firstReference.songTitle || firstReference.name}
              </button>
              <button type="button" className="secondary" onClick={start}>
                Go on with {desk.chosen?.name}
              </button>
            </div>
          )}
        </div>
      </div>
      {narrow && (
        <div className="entry">
          <div className="body">
            <TransportRest desk={desk} />
          </div>
        </div>
      )}
      <div className="entry">
        <div className="margin margin-notes">
          <HearingTools desk={desk} />
        </div>
        <div className="body desk-looking">
          <div>
            <h2>
              {drawn
                ? `Waveform of ${drawn.row.role === 'reference' ? drawn.row.songTitle || drawn.row.name : drawn.row.name}`
                : 'Waveform'}
            </h2>
            {drawn ? (
              <WaveformView desk={desk} drawn={drawn} marks={marks} />
            ) : (
              <p className="note plot-wait">
                {error ? `The drawing is missing: ${error.message}` : 'Drawing the waveform…'}
              </p>
            )}
            <p className="note desk-pointer">
              A click goes there; a drag marks a loop. Shift and drag, or two fingers, move the view; Ctrl and
              the wheel, or a pinch, zoom it.
            </p>
          </div>
          <NotesPanel
            ref={notesPanel}
            versionId={noted.versionId}
            versionName={noted.name}
            onGo={(seconds) => desk.seek(songSeconds(noted, seconds))}
            onBegin={beginNote}
          />
        </div>
      </div>
      <PlacePanel desk={desk} />
      <section className="entry" aria-labelledby="stand">
        <div className="margin">
          <p className="note">
            {chosenSet.set
              ? `Against “${chosenSet.set.name}”, at equal loudness.`
              : 'Choose a reference set to see where a version lies among records you know.'}
          </p>
        </div>
        <div className="body">
          <h2 id="stand">How {noted.name} stands</h2>
          {chosenSet.set?.members.some(({ checked }) => checked) ? (
            <StandingView versionId={noted.versionId} versionName={noted.name} setId={chosenSet.set.id} />
          ) : (
            <p className="sentence">
              There is nothing to hold it against: <Link href="/sets">make a reference set</Link> of about ten
              records you know by heart.
            </p>
          )}
        </div>
      </section>
      {drawn && (
        <section className="entry" aria-labelledby="looking">
          <div className="margin">
            <p className="note">
              All on the song’s time, with the waveform above: zooming one zooms all. Arrow keys read values
              off a plot that has the focus; Enter plays from there.
            </p>
          </div>
          <div className="body">
            <h2 id="looking">Looking</h2>
            <Plots desk={desk} drawn={drawn} />
          </div>
        </section>
      )}
      <div className="entry">
        <div className="margin" />
        <div className="body">
          <LevelPanel desk={desk} level={level} />
        </div>
      </div>
      <Caution
        open={!level.cautionRead}
        levelDb={desk.hearing.levelDb}
        onRead={() => patchLevel.mutate({ cautionRead: true })}
      />
      <KeyList open={listOpen} onClose={() => setListOpen(false)} keysOn={keysOn} onKeysOn={setKeysOn} />
    </div>
  );
}

function HowToFill({ chosenSet: { set }, count }: { chosenSet: ChosenSet; count: number }) {
  if (!set) return null;
  const waiting = set.members.length - count;
  if (set.members.length === 0)
    return (
      <p className="note">
        It is empty. <Link href={`/sets/${set.id}`}>Put records into it</Link>.
      </p>
    );
  if (waiting > 0)
    return <p className="note">{waiting} of its records cannot be heard yet: not checked to the end.</p>;
  return null;
}
