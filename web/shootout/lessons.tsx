import { useState } from 'react';
import { Link } from 'wouter';
import type { Lessons as Learned, ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useLessons } from '../api/shootout-queries.ts';
import { BandChangePlot } from '../plots/band-change.tsx';
import { stretch } from '../words/figures.ts';

const whatWords: Record<Learned['lessons'][number]['what'], string> = {
  gain: 'Loudness',
  tone: 'Tone',
  dynamics: 'Dynamics',
  width: 'Width',
  'low-end': 'Low end',
  ceiling: 'Ceiling',
};

/** What the maker of one master did that the maker of another did not, with a place to hear each. */
export function Lessons({ shootout: { id, songId, entries } }: { shootout: ShootoutDetail }) {
  const [pair, setPair] = useState<Pair | null>(null);
  const lessons = useLessons(id, pair);
  const { data } = lessons;
  if (lessons.isError && !data) return <p className="sentence">{lessons.error.message}</p>;
  if (!data) return <p className="note">Laying the two over each other; this takes some seconds…</p>;
  const { entryId, againstId, name, againstName, change, versionIds } = data;
  return (
    <div className={lessons.isPlaceholderData ? 'stale' : undefined}>
      <div className="act-line">
        <label className="find">
          What
          <select
            value={entryId}
            onChange={(event) => setPair(pairOf(event.target.value, againstId, entryId))}
          >
            {entries.map((each) => (
              <option key={each.id} value={each.id}>
                {each.maker}
              </option>
            ))}
          </select>
        </label>
        <label className="find">
          did against
          <select
            value={againstId}
            onChange={(event) => setPair(swapped(pairOf(event.target.value, entryId, againstId)))}
          >
            {entries.map((each) => (
              <option key={each.id} value={each.id}>
                {each.maker}
                {each.yours ? ' (my own)' : ''}
              </option>
            ))}
          </select>
        </label>
      </div>
      {data.lessons.length === 0 ? (
        <p className="sentence">
          Nothing that stands out: the two differ less than one hears when switching.
        </p>
      ) : (
        <ol className="plain-list lessons">
          {data.lessons.map(({ what, sentence, place }) => (
            <li key={sentence}>
              <b className="note">{whatWords[what]}</b>
              <p className="sentence">{sentence}</p>
              {place && (
                <Link
                  className="note"
                  href={`/songs/${songId}/desk?${new URLSearchParams({
                    from: String(place.startSeconds),
                    to: String(place.endSeconds),
                    of: versionIds[0],
                    against: versionIds[1],
                  })}`}
                >
                  Loop {stretch(place)} at the desk
                </Link>
              )}
            </li>
          ))}
        </ol>
      )}
      {data.chain.parts.length > 0 && (
        <>
          <h3 className="chain-start">A chain to begin from</h3>
          <p className="note">
            It moves {data.againstName} toward {data.name} in tone and level, no further: a start to be heard
            and changed, not a copy.
          </p>
          <ul className="plain-list">
            {data.chainSentences.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
          <p>
            <a
              download="starting-chain.json"
              href={`data:application/json,${encodeURIComponent(JSON.stringify(data.chain, null, 2))}`}
            >
              Save it as a file
            </a>
          </p>
        </>
      )}
      {change.same && (
        <figure className="lesson-plot">
          <BandChangePlot tone={change.same.tone} />
          <figcaption className="note">
            {name} against {againstName}, at equal loudness.
          </figcaption>
        </figure>
      )}
      <p>
        <Link className="note" href={`/versions/${versionIds[1]}/change/${versionIds[0]}`}>
          All that changed, in figures
        </Link>
      </p>
    </div>
  );
}

interface Pair {
  readonly entry: string;
  readonly against: string;
}

/** What was chosen on one side beside the other side; where it is the same, the other side takes what was here. */
const pairOf = (chosen: string, other: string, before: string): Pair => ({
  entry: chosen,
  against: chosen === other ? before : other,
});
const swapped = ({ entry, against }: Pair): Pair => ({ entry: against, against: entry });
