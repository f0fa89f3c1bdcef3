import { Link } from 'wouter';
import type { ChangeReport } from '../../src/judge/change-report.ts';
import { useChange, useSong, useVersion } from '../api/queries.ts';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { BandChangePlot } from '../plots/band-change.tsx';
import { clock, difference } from '../words/figures.ts';

/** What changed from one version of a song to another: sentences, then the change of every band. */
export function ChangeScreen({ from, to }: { from: string; to: string }) {
  const before = useVersion(from, null);
  const after = useVersion(to, null);
  const change = useChange(from, to);
  useTitle('What changed');
  const failed = [before, after, change].find((query) => query.isError && !query.data);
  if (failed?.error) return <Unanswered error={failed.error} retry={() => void failed.refetch()} />;
  if (!before.data || !after.data) return <Message title="Reading the versions…" />;
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <Where songId={after.data.songId} />
          <p className="note">
            Compared with <Link href={`/versions/${from}`}>{before.data.name}</Link>
          </p>
          <p className="note">
            <Link href={`/versions/${from}/change/${to}`}>The other way round</Link>
          </p>
        </div>
        <div className="body">
          <h1 className="headline">What changed in {after.data.name}</h1>
          {change.data ? (
            <ul className="change-words">
              {change.data.sentences.map((sentence) => (
                <li key={sentence} className="sentence">
                  {sentence}
                </li>
              ))}
            </ul>
          ) : (
            <p role="status">Laying the two over each other; this takes some seconds.</p>
          )}
        </div>
      </div>
      {change.data?.same && <ChangeFigures same={change.data.same} />}
    </div>
  );
}

function Where({ songId }: { songId: string }) {
  const song = useSong(songId);
  return (
    <nav className="note" aria-label="Where this is">
      <Link href="/">Bench</Link> / <Link href={`/songs/${songId}`}>{song.data?.title ?? 'song'}</Link>
    </nav>
  );
}

function ChangeFigures({ same }: { same: NonNullable<ChangeReport['same']> }) {
  const { gainDb, tone, dynamics, width, sections } = same;
  const figures: readonly (readonly [string, number | null, string])[] = [
    ['Loudness', gainDb, 'LU'],
    ['Range', dynamics.rangeLu, 'LU'],
    ['True peak', dynamics.truePeakDb, 'dB'],
    ['PLR', dynamics.plrDb, 'dB'],
    ['Crest', dynamics.crestDb, 'dB'],
    ['Width', width?.sideToMidDb ?? null, 'dB'],
  ];
  return (
    <section className="entry" aria-labelledby="change-figures">
      <div className="margin">
        <p className="note">Tone, width and sections are told at equal loudness.</p>
      </div>
      <div className="body">
        <h2 id="change-figures">In figures</h2>
        <figure>
          <BandChangePlot tone={tone} />
        </figure>
        <div className="group-body">
          <table className="figures">
            <caption>The whole song</caption>
            <tbody>
              {figures.map(([label, value, unit]) => (
                <tr key={label}>
                  <th scope="row">{label}</th>
                  <td className="num">{difference(value)}</td>
                  <td className="unit">{unit}</td>
                </tr>
              ))}
            </tbody>
          </table>
          {sections.length > 0 && (
            <table className="figures">
              <caption>Sections, against the whole</caption>
              <tbody>
                {sections.map((section) => (
                  <tr key={section.startSeconds}>
                    <th scope="row">
                      {section.label}, {clock(section.startSeconds)}–{clock(section.endSeconds)}
                    </th>
                    <td className="num">{difference(section.levelDb)}</td>
                    <td className="unit">dB</td>
                  </tr>
                ))}
              </tbody>
            </table>
          )}
        </div>
      </div>
    </section>
  );
}
