import { useMemo, useState } from 'react';
import { Link } from 'wouter';
import type { FileReport } from '../../src/judge/file-report.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import { useTraces } from '../api/queries.ts';
import { OverMark } from '../parts/severity.tsx';
import { LoudnessPlot } from '../plots/loudness.tsx';
import { around, type View } from '../plots/plot.tsx';
import { SpectrumPlot } from '../plots/spectrum.tsx';
import { type Places, Waveform } from '../plots/waveform.tsx';
import { clock } from '../words/figures.ts';
import { DetailGroups } from './detail-groups.tsx';
import { FigureTable } from './figure-table.tsx';
import { FileNote } from './file-note.tsx';
import { Findings, type PlaceActions } from './findings.tsx';
import { LossyTable } from './lossy-table.tsx';
import { SectionsStrip } from './sections-strip.tsx';

const nowhere: Places = { spans: [], current: null };
/** Seconds of song shown around a place that is visited. */
const visitSeconds = 4;

/** A finished verdict: waveform, findings with the figures beside them, the other plots, the lossy table, the file. */
export function ReportBody({ version, report }: { version: VersionDetail; report: FileReport }) {
  const traces = useTraces(version.id, true);
  const [view, setView] = useState<View>(null);
  const [places, setPlaces] = useState<Places>(nowhere);
  const { seconds } = report.file;
  const actions = useMemo<PlaceActions>(
    () => ({
      show: setPlaces,
      visit: (next) => {
        setPlaces(next);
        const at = next.current ?? next.spans[0];
        if (!at) return;
        const half = Math.max(visitSeconds, (at.endSeconds - at.startSeconds) * 1.5) / 2;
        const middle = (at.startSeconds + at.endSeconds) / 2;
        setView(
          half * 2 >= seconds
            ? null
            : {
                from: Math.max(0, Math.min(middle - half, seconds - half * 2)),
                to: Math.min(seconds, Math.max(middle + half, half * 2)),
              },
        );
      },
    }),
    [seconds],
  );

  return (
    <>
      <section className="entry wave" aria-labelledby="waveform">
        <div className="margin">
          <h2 id="waveform" className="caption">
            Waveform
          </h2>
          <p className="note key">
            <OverMark /> over, above 0 dBTP
          </p>
          <p className="note key">
            <svg viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">
              <path d="M2.5 2.5h7v7h-7Z" fill="var(--ink)" />
            </svg>{' '}
            clipped run
          </p>
          {places.spans.length > 0 && (
            <p className="note key">
              <svg viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">
                <path d="M2 0v12M10 0v12" stroke="var(--accent)" strokeWidth="2" />
                <path d="M2 0h8v12H2Z" fill="var(--accent)" opacity="0.25" />
              </svg>{' '}
              place looked at
            </p>
          )}
        </div>
        <div className="body">
          {traces.data && (
            <SectionsStrip sections={report.sections} seconds={seconds} view={view} onView={setView} />
          )}
          {traces.data ? (
            <Waveform
              waveform={traces.data.waveform}
              peak={report.peak}
              places={places}
              view={view}
              onView={setView}
            >
              <ViewTools
                view={view}
                seconds={seconds}
                onView={setView}
                onClear={places.spans.length > 0 ? () => setPlaces(nowhere) : null}
              />
            </Waveform>
          ) : (
            <p className="note plot-wait">
              {traces.isError ? `The drawing is missing: ${traces.error.message}` : 'Drawing the waveform…'}
            </p>
          )}
        </div>
      </section>

      <section className="entry judged" aria-label="Findings and figures">
        <div className="judged-findings">
          <Findings findings={report.findings} actions={actions} />
        </div>
        <FigureTable report={report} />
      </section>

      <section className="entry" aria-label="Plots">
        <div className="margin" />
        <div className="body plot-pair">
          <figure>
            <h2>Loudness over time</h2>
            {traces.data && (
              <LoudnessPlot
                loudness={traces.data.loudness}
                integratedLufs={report.loudness.integratedLufs}
                view={view}
                onView={setView}
              />
            )}
          </figure>
          <figure>
            <h2>Spectrum in third octaves</h2>
            <SpectrumPlot tone={report.tone} />
          </figure>
        </div>
      </section>

      <DetailGroups report={report} traces={traces.data} view={view} onView={setView} />

      <section className="entry" aria-labelledby="lossy">
        <div className="margin">
          <p className="note">
            Each format was really coded and decoded; what counts is the peak that a player then has to put
            out.
          </p>
        </div>
        <div className="body">
          <h2 id="lossy">After lossy coding</h2>
          <LossyTable report={report} actions={actions} />
          <p className="paperwork">
            <Link href={`/versions/${version.id}/survive`}>Find the ceiling that survives, and hear it</Link>
          </p>
        </div>
      </section>

      <section className="entry" aria-labelledby="file">
        <div className="margin" />
        <div className="body">
          <h2 id="file">The file</h2>
          <FileNote version={version} report={report} />
        </div>
      </section>
    </>
  );
}

/** Zoom and travel by button, for pointers and fingers; the keyboard has its own keys on the plot. */
function ViewTools({
  view,
  seconds,
  onView,
  onClear,
}: {
  view: View;
  seconds: number;
  onView: (view: View) => void;
  onClear: (() => void) | null;
}) {
  const { from, to } = view ?? { from: 0, to: seconds };
  const zoom = (factor: number) => onView(around(from, to, (from + to) / 2, factor, 0, seconds));
  const travel = (share: number) => {
    const start = Math.min(seconds - (to - from), Math.max(0, from + (to - from) * share));
    onView({ from: start, to: start + (to - from) });
  };
  return (
    <div className="view-tools" role="toolbar" aria-label="View of the waveform">
      <span className="note num">{view ? `${clock(from, 1)}–${clock(to, 1)}` : 'whole song'}</span>
      <button
        type="button"
        className="plain"
        disabled={!view}
        aria-label="Earlier"
        onClick={() => travel(-0.5)}
      >
        ←
      </button>
      <button type="button" className="plain" disabled={!view} aria-label="Later" onClick={() => travel(0.5)}>
        →
      </button>
      <button type="button" className="plain" aria-label="Zoom in" onClick={() => zoom(0.5)}>
        +
      </button>
      <button type="button" className="plain" aria-label="Zoom out" disabled={!view} onClick={() => zoom(2)}>
        −
      </button>
      <button type="button" className="plain" disabled={!view} onClick={() => onView(null)}>
        All
      </button>
      {onClear && (
        <button type="button" className="plain" onClick={onClear}>
          Clear marks
        </button>
      )}
    </div>
  );
}
