import type { FileReport } from '../../src/judge/file-report.ts';
import { profileOf } from '../../src/judge/profiles.ts';
import type { CatalogueVerdict } from '../../src/server/catalogue-api.ts';
import { useCatalogueSong } from '../api/catalogue-queries.ts';
import { Where } from '../catalogue/run-standing.tsx';
import { Standing } from '../catalogue/song-table.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { SpectrumPlot } from '../plots/spectrum.tsx';
import { DetailGroups } from '../verdict/detail-groups.tsx';
import { FigureTable } from '../verdict/figure-table.tsx';
import { fileLine } from '../verdict/file-note.tsx';
import { Findings } from '../verdict/findings.tsx';
import { LossyTable } from '../verdict/lossy-table.tsx';
import { count } from '../words/figures.ts';

/** The verdict on one song of a catalogue. */
export function CatalogueSongScreen({ id, seq }: { id: string; seq: string }) {
  const verdict = useCatalogueSong(id, seq);
  useTitle(verdict.data?.song.name ?? 'Verdict');
  if (verdict.isError && !verdict.data)
    return <Unanswered error={verdict.error} retry={() => void verdict.refetch()} />;
  if (!verdict.data) return <Message title="Reading the verdict…" />;
  return <VerdictSheet {...verdict.data} />;
}

function VerdictSheet({ run, song, report }: CatalogueVerdict) {
  return (
    <div className="sheet verdict">
      <div className="entry opening">
        <div className="margin">
          <Where run={run} />
          <p className="version-title">
            <strong>{song.name}</strong>
          </p>
          <p className="note">{report ? fileLine(report.file) : <Standing song={song} />}</p>
          <p className="note">Held against {profileOf(run.profile).name}.</p>
        </div>
        <div className="body">
          <h1 className="headline">{report?.headline ?? song.error?.message ?? 'Not checked yet.'}</h1>
          {song.error && (
            <p className="note">
              <code>{song.error.code}</code> after {count(song.tries, 'try', 'tries')}
            </p>
          )}
          <p className="note path">
            <span className="hidden">From </span>
            {song.source}
          </p>
        </div>
      </div>
      {report && <Report report={report} />}
    </div>
  );
}

/** As on the bench, without the drawings over time: of a catalogue only figures are kept. */
function Report({ report }: { report: FileReport }) {
  return (
    <>
      <section className="entry judged" aria-label="Findings and figures">
        <div className="judged-findings">
          <h2 className="hidden">Findings</h2>
          <Findings findings={report.findings} actions={null} />
        </div>
        <FigureTable report={report} />
      </section>
      <section className="entry" aria-labelledby="spectrum">
        <div className="margin">
          <p className="note">
            Of a catalogue only figures are kept. To see the waveform and to listen, bring the file to the
            bench.
          </p>
        </div>
        <div className="body">
          <h2 id="spectrum">Spectrum in third octaves</h2>
          <SpectrumPlot tone={report.tone} />
        </div>
      </section>
      <DetailGroups report={report} traces={undefined} view={null} onView={() => {}} />
      <section className="entry" aria-labelledby="lossy">
        <div className="margin" />
        <div className="body">
          <h2 id="lossy">After lossy coding</h2>
          <LossyTable report={report} actions={null} />
        </div>
      </section>
    </>
  );
}
