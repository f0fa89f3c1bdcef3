import { useMemo, useState } from 'react';
import { Link } from 'wouter';
import type { Correction, WalkDetail } from '../../src/server/walk-api.ts';
import { useCorrection, usePredictions } from '../api/walk-queries.ts';
import { CorrectionPlot } from '../plots/correction.tsx';
import { difference, hertz } from '../words/figures.ts';
import { PlacePredictions } from './place-predictions.tsx';
import { areaWords } from './words.ts';

/** What the notes come to: what is answered, what conflicts, the curve with its bands, and what every place would hear. */
export function WalkOutcome({ walk }: { walk: WalkDetail }) {
  const [refused, setRefused] = useState<readonly number[]>([]);
  const correction = useCorrection(walk.id, refused);
  const predictions = usePredictions(walk.id, refused, correction.data !== undefined);
  const stale = correction.isPlaceholderData || predictions.isPlaceholderData;
  const names = useMemo(() => new Map(walk.stops.map(({ id, name }) => [id, name])), [walk.stops]);
  if (correction.isError && !correction.data)
    return (
      <p role="alert" className="sentence refusal">
        {correction.error.message}
      </p>
    );
  if (!correction.data)
    return (
      <p className="note" role="status">
        Working out what is heard in the places…
      </p>
    );
  const { sentences, others, bands, complaints, wishes } = correction.data;
  const toggle = (number: number) =>
    setRefused(
      refused.includes(number)
        ? refused.filter((each) => each !== number)
        : [...refused, number].sort((a, b) => a - b),
    );
  return (
    <div className={stale ? 'stale' : undefined}>
      {sentences.map((sentence) => (
        <p key={sentence} className="sentence">
          {sentence}
        </p>
      ))}
      {bands.length > 0 && (
        <>
          <CorrectionPlot curve={correction.data.curve} />
          <Bands bands={bands} onToggle={toggle} />
          <p className="act-line">
            <Link
              className="primary link-button"
              href={`/songs/${walk.songId}/finish?from=walk:${walk.id}${refused.length > 0 ? `&refuse=${refused.join(',')}` : ''}`}
            >
              Begin a chain from this
            </Link>
          </p>
        </>
      )}
      {complaints > 0 && <Wishes wishes={wishes} names={names} />}
      {others.length > 0 && (
        <section aria-labelledby="others">
          <h3 id="others">What an equaliser does not mend</h3>
          <ul className="plain-list others">
            {others.map(({ stopId, text, advice }) => (
              <li key={`${stopId} ${text}`}>
                <p className="sentence">{text}</p>
                {advice && <p className="note">{advice}</p>}
              </li>
            ))}
          </ul>
        </section>
      )}
      <section aria-labelledby="predicted">
        <h3 id="predicted">What every place would hear</h3>
        {predictions.isError && !predictions.data ? (
          <p role="alert" className="sentence refusal">
            {predictions.error.message}
          </p>
        ) : predictions.data ? (
          <PlacePredictions predictions={predictions.data} />
        ) : (
          <p className="note" role="status">
            Working out what every place would hear…
          </p>
        )}
      </section>
    </div>
  );
}

function Bands({ bands, onToggle }: { bands: Correction['bands']; onToggle: (number: number) => void }) {
  return (
    <fieldset className="picks walk-bands">
      <legend className="note">The curve as bands; leave out what you do not want.</legend>
      {bands.map(({ number, refused, words, why, hertz: at, gainDb, q, shape }) => (
        <label key={number} className="pick">
          <input type="checkbox" checked={!refused} onChange={() => onToggle(number)} />
          <span>
            {number}. {words}
          </span>
          <span className="note num">
            {shape.replace('-', ' ')}, {hertz(at)} Hz, {difference(gainDb)} dB, Q {q}. {why}
          </span>
        </label>
      ))}
    </fieldset>
  );
}

/** What each place asks for, what it gets. */
function Wishes({ wishes, names }: { wishes: Correction['wishes']; names: ReadonlyMap<string, string> }) {
  const asked = wishes.filter(({ wantedDb }) => Math.abs(wantedDb) > 0.5);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section className="scroll" aria-label="What was asked for, and what comes of it" tabIndex={0}>
      <table className="figures">
        <caption className="note">
          What was asked for, after what the references there share is taken off.
        </caption>
        <thead>
          <tr>
            <th scope="col">Place</th>
            <th scope="col">Area</th>
            <th scope="col" className="num">
              Asked <small>dB</small>
            </th>
            <th scope="col" className="num">
              Gets <small>dB</small>
            </th>
            <th scope="col">Answered</th>
          </tr>
        </thead>
        <tbody>
          {asked.map(({ stopId, area, wantedDb, heardDb, answered }) => (
            <tr key={`${stopId} ${area}`}>
              <th scope="row">{names.get(stopId) ?? 'left out'}</th>
              <td>{areaWords[area]}</td>
              <td className="num">{difference(wantedDb)}</td>
              <td className="num">{difference(heardDb)}</td>
              <td>{answered ? '✓ yes' : 'not wholly'}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
