import { type Ref, useState } from 'react';
import { Checkbox, Label, Radio, RadioGroup } from 'react-aria-components';
import type { Survival } from '../../src/server/api.ts';
import { clock, difference, inUnit } from '../words/figures.ts';
import { type Excerpt, type Loop, useExcerpt } from './excerpt.ts';
import { Box } from './format-choices.tsx';
import { loopExtraSeconds, type Part } from './loop-player.ts';
import { useLoop } from './use-loop.ts';

type Report = NonNullable<Survival['report']>;
type Row = Report['formats'][number];

/** Seconds of the loop: long enough to know the music, short enough to keep a detail in the ear. */
const loopSeconds = 4;

const partWords: readonly { part: Part; word: string; key: string }[] = [
  { part: 'original', word: 'Original', key: 'O' },
  { part: 'decoded', word: 'Decoded', key: 'D' },
  { part: 'difference', word: 'Difference', key: 'X' },
];

/** Original, decoded sound and difference of one format, looped on a moment. */
export function Listen({
  ref,
  versionId,
  report,
  row,
  at,
  onFormat,
  onAt,
}: {
  ref: Ref<HTMLDivElement>;
  versionId: string;
  report: Report;
  row: Row;
  /** The moment to loop on, seconds; the worst of the format when null. */
  at: number | null;
  onFormat: (formatId: string) => void;
  onAt: (seconds: number) => void;
}) {
  const [part, setPart] = useState<Part>('original');
  const [match, setMatch] = useState(false);
  const [wanted, setWanted] = useState(false);
  const middle = at ?? row.peakMoments[0]?.atSeconds ?? report.file.seconds / 2;
  const loop = loopAround(middle, report.file.seconds);
  const excerpt = useExcerpt(versionId, row.formatId, loop, match, wanted);
  const player = useLoop(excerpt.data, row.codedRateHz, part, wanted);
  const toggle = () => {
    if (!wanted) player.prepare();
    setWanted(!wanted);
  };
  const onKeyDown = (event: React.KeyboardEvent) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const named = partWords.find(({ key }) => key.toLowerCase() === event.key.toLowerCase());
    if (named) {
      event.preventDefault();
      setPart(named.part);
    } else if (event.key === ' ' && !ownSpace(event.target)) {
      event.preventDefault();
      event.stopPropagation();
      toggle();
    }
  };

  return (
    // biome-ignore lint/a11y/useSemanticElements: a group of controls with keys of its own, not a fieldset of a form
    <div
      ref={ref}
      className="listen"
      role="group"
      aria-label={`Listen to ${row.format}`}
      // biome-ignore lint/a11y/noNoninteractiveTabindex: its keys work while the focus is in it (WCAG 2.1.4)
      tabIndex={0}
      // Caught on the way down: radios would use up the space bar.
      onKeyDownCapture={onKeyDown}
    >
      <div className="listen-row">
        <label className="find">
          Format
          <select value={row.formatId} onChange={(event) => onFormat(event.target.value)}>
            {report.formats.map(({ formatId, format }) => (
              <option key={formatId} value={formatId}>
                {format}
              </option>
            ))}
          </select>
        </label>
        <Moments row={row} at={middle} onAt={onAt} />
      </div>
      <div className="listen-row">
        <button type="button" className="primary play" aria-keyshortcuts="Space" onClick={toggle}>
          {wanted ? 'Stop' : 'Play the loop'}
        </button>
        <RadioGroup
          className="parts"
          orientation="horizontal"
          value={part}
          onChange={(value) => setPart(value as Part)}
        >
          <Label className="hidden">What is heard</Label>
          {partWords.map((each) => (
            <Radio key={each.part} value={each.part} className="part">
              {each.word} <kbd>{each.key}</kbd>
            </Radio>
          ))}
        </RadioGroup>
        <Checkbox isSelected={match} onChange={setMatch} className="check">
          <Box /> Match the decoded level
        </Checkbox>
      </div>
      <p className="note num" role="status" data-listening={player.playing ? part : 'nothing'}>
        {excerpt.isError && wanted
          ? excerpt.error.message
          : wanted && !player.playing
            ? 'Coding the passage…'
            : `${player.playing ? `Playing the ${part}` : 'Stopped'}, ${clock(loop.start, 1)} to ${clock(loop.start + loop.seconds, 1)}, looped.`}
      </p>
      {excerpt.data && <LevelNote excerpt={excerpt.data} />}
      <p className="note">
        Keys, while the focus is here: <kbd>O</kbd>, <kbd>D</kbd>, <kbd>X</kbd> switch at the same place,{' '}
        <kbd>Space</kbd> plays and stops. The passage is coded by itself, with 3 s before it, so it can differ
        a little from the whole song’s.
      </p>
    </div>
  );
}

/** Elements for which the space bar has a use of its own. */
function ownSpace(target: EventTarget): boolean {
  const own = 'button, select, summary, input[type="checkbox"], input[type="radio"]:not(:checked)';
  return target instanceof Element && target.closest(own) !== null;
}

/** A little longer than what is heard, because the end runs into the beginning. */
function loopAround(middle: number, songSeconds: number): Loop {
  const seconds = Math.min(loopSeconds, songSeconds - loopExtraSeconds);
  const start = Math.max(0, Math.min(middle - seconds / 2, songSeconds - seconds - loopExtraSeconds));
  // Whole hundredths: the same moment is then the same passage, kept by server and page.
  return { start: Math.floor(start * 100) / 100, seconds };
}

function Moments({ row, at, onAt }: { row: Row; at: number; onAt: (seconds: number) => void }) {
  return (
    <div className="moment-choice">
      <span className="note">Loop on its highest moments:</span>
      {row.peakMoments.map((moment) => (
        <button
          key={moment.atSeconds}
          type="button"
          className="place num"
          aria-pressed={Math.abs(moment.atSeconds - at) < 0.005}
          aria-label={`Loop at ${clock(moment.atSeconds, 1)}, ${inUnit(moment.peakDbtp, 'dBTP')} dBTP`}
          onClick={() => onAt(moment.atSeconds)}
        >
          {clock(moment.atSeconds, 1)}
        </button>
      ))}
    </div>
  );
}

/** What was done to the levels, so that nobody takes it for the format's doing. */
function LevelNote({ excerpt }: { excerpt: Excerpt }) {
  const { gainDb, raisedDb, matchedDb, levelDb } = excerpt;
  const both =
    gainDb === 0
      ? 'Original and decoded sound play as they are'
      : `Original and decoded sound are turned down by ${inUnit(-gainDb, 'dB')} dB, so that nothing is cut here`;
  const raised =
    raisedDb >= 0
      ? `the difference is raised by ${inUnit(raisedDb, '')} dB above that`
      : `the difference is turned down by another ${inUnit(-raisedDb, '')} dB`;
  const level =
    levelDb === null
      ? ''
      : matchedDb !== 0
        ? ` The decoded sound was matched to the original by ${difference(matchedDb, 3)} dB.`
        : ` The decoded sound is ${difference(levelDb, 2)} dB against the original, not matched.`;
  return (
    <p className="note num" data-level-note>
      {both}; {raised}.{level}
    </p>
  );
}
