import { clock, count, figure, inUnit } from '../words/figures.ts';
import { type Row, songSeconds } from './timeline.ts';
import type { Desk } from './use-desk.ts';

/** Every sound of the desk with its number key: versions first, references below them. */
export function SourcesList({ desk }: { desk: Desk }) {
  const { rows } = desk;
  const versions = rows.filter(({ role }) => role === 'version');
  const references = rows.filter(({ role }) => role === 'reference');
  return (
    <div className="sources">
      <h2 id="versions-heading">{count(versions.length, 'version')}</h2>
      <ul aria-labelledby="versions-heading">
        {versions.map((row) => (
          <SourceRow key={row.versionId} desk={desk} row={row} />
        ))}
      </ul>
      {desk.song.missing.length > 0 && (
        <ul className="note missing" aria-label="Versions that cannot be heard yet">
          {desk.song.missing.map(({ versionId, name, reason }) => (
            <li key={versionId}>
              {name}: {reason}
            </li>
          ))}
        </ul>
      )}
      {references.length > 0 && (
        <>
          <h2 id="references-heading">{count(references.length, 'reference')}</h2>
          <ul aria-labelledby="references-heading">
            {references.map((row) => (
              <SourceRow key={row.versionId} desk={desk} row={row} />
            ))}
          </ul>
        </>
      )}
    </div>
  );
}

/** Keys go to the first nine sounds, in the order of the list. */
const keyOf = (desk: Desk, row: Row): number | null => {
  const index = desk.rows.indexOf(row);
  return index >= 0 && index < 9 ? index + 1 : null;
};

function SourceRow({ desk, row }: { desk: Desk; row: Row }) {
  const key = keyOf(desk, row);
  const heard = desk.chosen?.versionId === row.versionId;
  const before = desk.before?.versionId === row.versionId && !heard;
  const waiting = row.aligned === 'waiting';
  return (
    <li className={`source-row ${row.role}${heard ? ' heard' : ''}`} data-source={row.versionId}>
      <button
        type="button"
        className="source-button"
        aria-pressed={heard}
        aria-keyshortcuts={key === null ? undefined : String(key)}
        disabled={waiting}
        onClick={() => desk.choose(row.versionId)}
      >
        {key === null ? <span className="no-key" /> : <kbd>{key}</kbd>}
        <HeardMark heard={heard} />
        <span className="source-name">{row.role === 'reference' ? row.songTitle || row.name : row.name}</span>
        {heard && <span className="heard-word">heard</span>}
        {before && <span className="note">before</span>}
      </button>
      <p className="note source-level num" data-level-of={row.versionId}>
        {levelWords(desk, row)}
      </p>
      <div className="note source-place num">
        {row.role === 'reference' ? <ReferencePlace desk={desk} row={row} /> : alignedWords(row)}
      </div>
    </li>
  );
}

/** Filled and pointed for the one that is heard, an open ring for the others: told apart without colour. */
function HeardMark({ heard }: { heard: boolean }) {
  return (
    <svg className="mark" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
      {heard ? (
        <path d="M3 1.5 14 8 3 14.5Z" fill="currentColor" />
      ) : (
        <circle cx="8" cy="8" r="4.5" fill="none" stroke="currentColor" strokeWidth="1.5" />
      )}
    </svg>
  );
}

/** What is done to its level, in words. */
function levelWords(desk: Desk, row: Row): string {
  const { hearing, matching, levels } = desk;
  const down = (gainDb: number, why: string) =>
    gainDb <= -0.05 ? `turned down ${figure(-gainDb)} dB ${why}` : `not turned down ${why}`;
  if (row.aligned === 'waiting') return '';
  if (hearing.service) return down(row.serviceGainDb, 'as a service would');
  if (!matching) return `as it is, ${inUnit(row.integratedLufs, 'LUFS')} LUFS`;
  const part = levels.match?.parts.find(({ versionId }) => versionId === row.versionId);
  if (!part) return levels.pending ? 'its level is being worked out' : 'nothing of it in this part';
  if (part.loudnessLufs === null) return 'too quiet or too short here to match';
  const folded =
    row.channels > 2
      ? `, by the loudness of all its ${row.channels} channels; folded to two it may lie a little off`
      : '';
  return `${down(part.gainDb, 'to match')}${folded}`;
}

function alignedWords(row: Row): string {
  if (row.aligned === 'waiting') return 'being laid beside the others…';
  if (row.aligned === 'unlike') return `plays from its own beginning: ${row.reason ?? 'it is not alike'}`;
  if (row.aligned === 'itself') return 'its clock is the song’s';
  const words: string[] = [];
  if (Math.abs(row.offsetSeconds) >= 0.0005)
    words.push(
      `${row.offsetSeconds > 0 ? 'begins earlier' : 'begins later'} by ${figure(Math.abs(row.offsetSeconds), 3)} s`,
    );
  if (Math.abs(row.pace - 1) >= 1e-7) words.push('another pace, evened out');
  if (row.inverted) words.push('its polarity turned over to fit');
  if (row.swapped) words.push('its left and right have changed places, so a difference does not cancel');
  return words.length === 0 ? 'in step' : `in step: ${words.join(', ')}`;
}

/** Which part of a reference lies where in the song, and how to lay it elsewhere. */
function ReferencePlace({ desk, row }: { desk: Desk; row: Row }) {
  const { section, atSeconds } = desk.placeOf(row);
  const begins = songSeconds(row, 0);
  return (
    <>
      <label className="place-choice">
        <span className="hidden">Part of {row.songTitle || row.name} that is laid beside the song</span>
        <select
          value={section ?? 'start'}
          onChange={(event) =>
            desk.setPlace(row.versionId, {
              section: event.target.value === 'start' ? null : Number(event.target.value),
              atSeconds,
            })
          }
        >
          <option value="start">its beginning</option>
          {row.sections.map((each, i) => (
            <option key={each.startSeconds} value={i}>
              section {each.label}, {clock(each.startSeconds)}
              {i === row.loudestSection ? ', the loudest' : ''}
            </option>
          ))}
        </select>
      </label>
      <span>
        at {clock(atSeconds)} of the song{begins > 0.05 && `; silent before ${clock(begins)}`}
      </span>
      <button
        type="button"
        className="plain"
        aria-label={`Lay it here, at the playhead: ${row.songTitle || row.name}`}
        onClick={() => desk.setPlace(row.versionId, { section, atSeconds: desk.player.position() })}
      >
        Lay it here
      </button>
    </>
  );
}
