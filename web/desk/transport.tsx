import { useEffect, useRef } from 'react';
import { clock, figure, stretch } from '../words/figures.ts';
import { ActButton } from './act-button.tsx';
import { onFrame } from './frames.ts';
import { bandWords } from './hearing-tools.tsx';
import type { Desk, MatchPart } from './use-desk.ts';

/** Play, place and what is heard: stays in view while one looks at what lies below. */
export function Transport({
  desk,
  narrow,
  onPlay,
}: {
  desk: Desk;
  /** Too little width for more than the least. */
  narrow: boolean;
  onPlay: () => void;
}) {
  const { state, running, chosen, matching, hearing } = desk;
  return (
    <section className="transport" aria-label="Playing">
      <div className="transport-row">
        <ActButton act="play" className="primary play" onAct={onPlay}>
          {running ? 'Pause' : 'Play'}
        </ActButton>
        <Position desk={desk} />
        {!narrow && <Steps desk={desk} />}
      </div>
      <HeardLine desk={desk} />
      {narrow ? (
        !matching && !hearing.service && <NotMatched />
      ) : (
        <div className="transport-row">
          <MatchLine desk={desk} />
          <Loudness desk={desk} />
        </div>
      )}
      {state.trouble && (
        <div className="trouble" role="alert">
          <strong>{state.trouble}</strong>
          {/* Not what Play does: of a sound that plays on beside the trouble, that would be pause. */}
          <button type="button" className="secondary" onClick={desk.play}>
            Try again
          </button>
        </div>
      )}
      {!state.trouble && state.state === 'locked' && (
        <p className="note">Press Play or the space bar: the browser lets no sound out before a press.</p>
      )}
      <MatchTrouble desk={desk} />
      {desk.remark !== '' && (
        <p className="sentence" role="status">
          {desk.remark}
        </p>
      )}
      {!chosen && (
        <p className="sentence">Its versions are being laid beside each other; that takes some seconds.</p>
      )}
    </section>
  );
}

/** What the transport has no room for on a narrow screen: it does not stay in view there. */
export function TransportRest({ desk }: { desk: Desk }) {
  return (
    <section className="transport-rest" aria-label="Place, loop and level">
      <div className="transport-row">
        <Steps desk={desk} />
      </div>
      <MatchLine desk={desk} />
      <div className="transport-row">
        <Loudness desk={desk} />
      </div>
    </section>
  );
}

export function Steps({ desk }: { desk: Desk }) {
  const { acts, loop, sections } = desk;
  return (
    <>
      <div className="steps-row">
        <ActButton act="section-before" onAct={acts['section-before']} disabled={sections.length === 0}>
          <Sign sign="⇤" words="The section before" />
        </ActButton>
        <ActButton act="earlier" onAct={acts.earlier}>
          −2 s<span className="hidden"> back</span>
        </ActButton>
        <ActButton act="later" onAct={acts.later}>
          +2 s<span className="hidden"> on</span>
        </ActButton>
        <ActButton act="section-after" onAct={acts['section-after']} disabled={sections.length === 0}>
          <Sign sign="⇥" words="The section after" />
        </ActButton>
      </div>
      <ActButton act="loop" on={loop !== null} onAct={acts.loop}>
        {loop ? `Loop ${stretch(loop)}` : 'Loop'}
      </ActButton>
      <span className="loop-ends">
        <ActButton act="loop-start" onAct={acts['loop-start']}>
          <span className="hidden">Loop </span>from here
        </ActButton>
        <ActButton act="loop-end" onAct={acts['loop-end']}>
          <span className="hidden">Loop </span>to here
        </ActButton>
      </span>
    </>
  );
}

/** A sign for the eye, words for the ear. */
function Sign({ sign, words }: { sign: string; words: string }) {
  return (
    <>
      <span aria-hidden="true">{sign}</span>
      <span className="hidden">{words}</span>
    </>
  );
}

export function Loudness({ desk }: { desk: Desk }) {
  return (
    <span className="loudness">
      <LevelSlider desk={desk} />
      <ActButton act="quiet" on={desk.hearing.quiet} onAct={desk.acts.quiet}>
        Quiet
      </ActButton>
    </span>
  );
}

function NotMatched() {
  return (
    <strong className="match-off">
      <span aria-hidden="true">△ </span>Loudness is not matched: whatever is louder will seem better.
    </strong>
  );
}

/** The time heard now. Written straight into the page at each frame: React has no part in it. */
export function Position({ desk }: { desk: Desk }) {
  const text = useRef<HTMLElement>(null);
  const { player, lengthSeconds } = desk;
  useEffect(
    () =>
      onFrame(() => {
        const words = clock(player.position(), 1);
        if (text.current && text.current.textContent !== words) text.current.textContent = words;
      }),
    [player],
  );
  return (
    <p className="position num">
      <span className="hidden">Position </span>
      <b ref={text} data-position>
        0:00.0
      </b>{' '}
      <span className="note">of {clock(lengthSeconds)}</span>
    </p>
  );
}

/** In words what reaches the ears now; read out when it changes. */
function HeardLine({ desk }: { desk: Desk }) {
  const { chosen, hearing, rows, state, live } = desk;
  if (!chosen) return null;
  const ways: string[] = [];
  if (hearing.minus !== null) {
    const other = rows.find(({ versionId }) => versionId === hearing.minus);
    ways.push(`what differs from ${other?.name ?? 'the other'}`);
  }
  if (hearing.band !== 'all') ways.push(`${bandWords[hearing.band]} alone`);
  if (hearing.fold === 'mono') ways.push('in mono');
  if (hearing.fold === 'side') ways.push('the side only');
  if (hearing.swap) ways.push('left and right changed over');
  if (hearing.flip) ways.push('right side upside down');
  if (hearing.quiet) ways.push('20 dB quieter');
  if (hearing.service) ways.push('at a service’s level');
  if (live.on) ways.push(`as in: ${live.place.name}`);
  const waiting =
    state.state === 'loading' || (state.state === 'playing' && !state.ready.has(chosen.versionId));
  return (
    <p className="heard-line" role="status" data-player={state.state}>
      <span aria-hidden="true">▶ </span>
      <b>{chosen.role === 'reference' ? chosen.songTitle || chosen.name : chosen.name}</b>
      {ways.length > 0 && <>: {ways.join(', ')}</>}
      {waiting && <span className="note"> (fetching its sound…)</span>}
    </p>
  );
}

const partWords: Record<MatchPart, string> = {
  whole: 'whole songs',
  section: 'this section',
  loop: 'the loop',
};

/** Whether loudness is equal, and on what; off is said so that nobody misses it. */
function MatchLine({ desk }: { desk: Desk }) {
  const { matching, hearing, part, setPart, acts, loop, sections } = desk;
  const off = !matching && !hearing.service;
  const choices: MatchPart[] = ['whole', 'section', 'loop'];
  return (
    <div className={off ? 'match-line off' : 'match-line'} data-matching={off ? 'off' : 'on'}>
      <ActButton act="match" on={matching} onAct={acts.match}>
        Equal loudness
      </ActButton>
      {off ? (
        <NotMatched />
      ) : hearing.service ? (
        <span>
          Every sound is turned down as a service would; songs quieter than its level stay as they are.
        </span>
      ) : (
        <>
          <label className="find">
            on
            <select value={part} onChange={(event) => setPart(event.target.value as MatchPart)}>
              {choices
                .filter((each) =>
                  each === 'loop' ? loop !== null : each === 'section' ? sections.length > 0 : true,
                )
                .map((each) => (
                  <option key={each} value={each}>
                    {partWords[each]}
                  </option>
                ))}
            </select>
          </label>
          <MatchWords desk={desk} />
        </>
      )}
    </div>
  );
}

/** Levels that could not be found out: said as loudly as that they are not matched. */
function MatchTrouble({ desk: { levels, matching } }: { desk: Desk }) {
  if (!levels.error || !matching) return null;
  return (
    <div className="trouble" role="alert">
      <strong>
        {levels.match
          ? 'What is heard now could not be matched; the levels found before hold.'
          : 'How loud these sounds are could not be found out, so none is played yet.'}{' '}
        {levels.error.message}
      </strong>
      <button type="button" className="secondary" onClick={levels.retry}>
        Match again
      </button>
    </div>
  );
}

/** What the levels are matched to, and whether that is still so. */
function MatchWords({ desk }: { desk: Desk }) {
  const { levels, part, section, sections, matchedSection, setPart } = desk;
  const lufs = levels.match?.matchedLufs ?? null;
  const heard = section === null ? undefined : sections[section];
  return (
    <span className="note num" data-matched>
      {lufs === null
        ? levels.pending
          ? 'being worked out…'
          : levels.error
            ? 'not known'
            : 'nothing here is loud or long enough to match'
        : `all at ${figure(lufs)} LUFS, that of the quietest${levels.pending ? '; being worked out anew…' : ''}`}
      {part === 'section' && heard && heard !== matchedSection && (
        <>
          {matchedSection
            ? `, as in section ${matchedSection.label}; they stay so while it plays on. `
            : ', as in whole songs. '}
          <button type="button" className="plain" onClick={() => setPart('section')}>
            Match on section {heard.label}
          </button>
        </>
      )}
    </span>
  );
}

function LevelSlider({ desk }: { desk: Desk }) {
  const { levelDb } = desk.hearing;
  return (
    <label className="level-slider">
      Your level
      <input
        type="range"
        min={-40}
        max={0}
        step={1}
        value={levelDb}
        aria-valuetext={`${figure(levelDb, 0)} dB`}
        onChange={(event) => desk.setLevel(Number(event.target.value))}
      />
      <span className="num level-value">{figure(levelDb, 0)} dB</span>
    </label>
  );
}
