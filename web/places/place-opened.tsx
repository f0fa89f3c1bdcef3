import { useMemo } from 'react';
import { Link } from 'wouter';
import type { PlacesReport, SongInPlace } from '../../src/judge/places-report.ts';
import { SeverityMark } from '../parts/severity.tsx';
import { BalanceBars } from '../plots/balance-bars.tsx';
import { HeardOverTime } from '../plots/heard-over-time.tsx';
import { PlaceLevelsPlot } from '../plots/place-levels.tsx';
import { figureRows } from './place-figures.ts';

/** Everything that is known of a song in one place. */
export function PlaceOpened({
  inPlace,
  report,
  songId,
  onClose,
}: {
  inPlace: SongInPlace;
  report: PlacesReport;
  songId: string;
  onClose: () => void;
}) {
  const { place, effect, headline, sentences, figures, studioLevelsDb, noiseLevelsDb } = inPlace;
  const balance = useMemo(
    () =>
      (effect?.bands ?? []).map((band) => ({
        effect: band,
        references: figures.find(({ name }) => name === `balance-${band.band}`)?.references ?? null,
      })),
    [effect, figures],
  );
  const desk = new URLSearchParams({
    place: place.id,
    ...(effect ? { placeLevelDba: String(effect.levelDba) } : {}),
  });
  return (
    <section className="place-opened" aria-label={`${place.name} in detail`} data-opened={place.id}>
      <div className="opened-head">
        <h3>{headline}</h3>
        <p className="opened-tools">
          <Link className="secondary link-button" href={`/songs/${songId}/desk?${desk}`}>
            Hear it at the desk
          </Link>
          <Link href={`/places/${place.id}`}>The place and its figures</Link>
          <button type="button" className="plain" onClick={onClose}>
            Close
          </button>
        </p>
      </div>
      {sentences.length > 0 && (
        <ul className="change-words">
          {sentences.map(({ text }) => (
            <li key={text} className="sentence">
              {text}
            </li>
          ))}
        </ul>
      )}
      {effect && (
        <>
          <figure className="group-plot">
            <h4>What is heard when</h4>
            <HeardOverTime
              title={`What is heard when in ${place.name}`}
              bands={effect.bands}
              stepSeconds={effect.timelineSeconds}
            />
          </figure>
          <div className="opened-plots">
            <figure className="group-plot">
              <h4>Balance against the studio</h4>
              <BalanceBars bars={balance} label="Balance against the studio" />
              <p className="note">
                Phon each band gains or loses within the whole, at the same level; 10 phon is twice as loud.
                {report.against.references.length > 0 && ' Brackets: what your references do here.'}
              </p>
            </figure>
            <figure className="group-plot">
              <h4>At the ear</h4>
              <PlaceLevelsPlot
                title={`Levels at the ear in ${place.name}`}
                centresHz={report.centresHz}
                levelsDb={effect.levelsDb}
                studioDb={studioLevelsDb}
                noiseDb={noiseLevelsDb}
              />
            </figure>
          </div>
        </>
      )}
      <Figures inPlace={inPlace} against={report.against.references.length > 0} />
      {inPlace.lead && <p className="note">{report.leadNote}</p>}
    </section>
  );
}

function Figures({ inPlace, against }: { inPlace: SongInPlace; against: boolean }) {
  const rows = useMemo(() => figureRows(inPlace), [inPlace]);
  if (rows.length === 0) return null;
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section className="scroll" aria-label={`Figures in ${inPlace.place.name}`} tabIndex={0}>
      <table className="figures place-figures">
        <caption>{against ? 'Against your references in the same place' : 'Without references'}</caption>
        <thead>
          <tr>
            <th scope="col">Figure</th>
            <th scope="col" className="num">
              Here
            </th>
            {against && (
              <th scope="col" className="num">
                References
              </th>
            )}
            <th scope="col" className="unit">
              Unit
            </th>
            <td />
          </tr>
        </thead>
        <tbody>
          {rows.map(({ name, label, unit, value, references, outside }) => (
            <tr key={name}>
              <th scope="row">{label}</th>
              <td className="num" data-figure={name}>
                {value}
              </td>
              {against && <td className="num">{references ?? '–'}</td>}
              <td className="unit">{unit}</td>
              <td className="stands">
                {Math.abs(outside) >= 1 && (
                  <>
                    <SeverityMark severity="look" /> stands out
                  </>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
