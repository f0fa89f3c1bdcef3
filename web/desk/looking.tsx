import { useEffect, useMemo, useRef, useState } from 'react';
import { bandName } from '../../src/judge/figures/bands.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import { useTraces, useVersions } from '../api/queries.ts';
import { LoudnessPlot } from '../plots/loudness.tsx';
import type { Timeline } from '../plots/plot.tsx';
import { CorrelationPlot } from '../plots/stereo-over-time.tsx';
import { ToneOverTimePlot } from '../plots/tone-over-time.tsx';
import { type Places, Waveform } from '../plots/waveform.tsx';
import { WidthPlot } from '../plots/width.tsx';
import { WidthOverTimePlot } from '../plots/width-over-time.tsx';
import { clock } from '../words/figures.ts';
import { ActButton } from './act-button.tsx';
import { type Mark, Overlay } from './overlay.ts';
import { ownSeconds, type Row, songSeconds } from './timeline.ts';
import type { Desk } from './use-desk.ts';

const nowhere: Places = { spans: [], current: null };

/** One overlay for all plots of the desk, kept in step with what the desk shows. */
function useOverlay(desk: Desk, marks: readonly Mark[]): Overlay {
  const { player, lengthSeconds, seek, setView, loop, loopFrom } = desk;
  const host = { position: () => player.position(), seek, setView, lengthSeconds };
  const [overlay] = useState(() => new Overlay(host));
  useEffect(() => {
    overlay.host = host;
  });
  useEffect(() => overlay.show(loop, loopFrom, marks), [overlay, loop, loopFrom, marks]);
  return overlay;
}

/** The axis that the plots of one sound share with the song. */
function useTimeline(desk: Desk, { offsetSeconds, pace }: Row, overlay: Overlay): Timeline {
  const seconds = desk.lengthSeconds;
  const acts = useRef(desk);
  acts.current = desk;
  return useMemo<Timeline>(
    () => ({
      seconds,
      toAxis: (own) => songSeconds({ offsetSeconds, pace }, own),
      attach: (u) => overlay.attach(u),
      pick: (at) => acts.current.seek(at),
      mark: (from, to) => acts.current.setLoop({ startSeconds: from, endSeconds: to }),
    }),
    [seconds, offsetSeconds, pace, overlay],
  );
}

export interface Drawn {
  readonly row: Row;
  readonly report: NonNullable<VersionDetail['report']>;
  readonly traces: NonNullable<ReturnType<typeof useTraces>['data']>;
}

/** What is drawn of the sound that is heard; while another's is fetched, the last one stays. */
export function useDrawn(row: Row | undefined): { drawn: Drawn | null; error: Error | null } {
  const [detail] = useVersions(row ? [row.versionId] : []);
  const traces = useTraces(row?.versionId ?? '', row !== undefined);
  const last = useRef<Drawn | null>(null);
  if (row && detail?.report && traces.data)
    last.current = { row, report: detail.report, traces: traces.data };
  return { drawn: last.current, error: traces.error };
}

/** Sections and waveform, with loop, notes and playhead on it. */
export function WaveformView({ desk, drawn, marks }: { desk: Desk; drawn: Drawn; marks: readonly Mark[] }) {
  const overlay = useOverlay(desk, marks);
  const timeline = useTimeline(desk, drawn.row, overlay);
  const { view, setView } = desk;
  return (
    <div className="desk-wave">
      <Sections desk={desk} />
      <Waveform
        waveform={drawn.traces.waveform}
        peak={drawn.report.peak}
        places={nowhere}
        view={view}
        onView={setView}
        timeline={timeline}
      >
        <ViewTools desk={desk} />
      </Waveform>
    </div>
  );
}

/** All else that is drawn over the same time, and the width by band. */
export function Plots({ desk, drawn }: { desk: Desk; drawn: Drawn }) {
  const overlay = useOverlay(desk, none);
  const timeline = useTimeline(desk, drawn.row, overlay);
  const { view, setView } = desk;
  const { report, traces } = drawn;
  const shared = { view, onView: setView, timeline };
  const bands = useMemo(
    () => (report.stereo?.bands ?? []).map((band) => bandName(band).split(',')[0] ?? ''),
    [report],
  );
  return (
    <div className="desk-plots">
      <figure>
        <h3>Loudness over time</h3>
        <LoudnessPlot
          loudness={traces.loudness}
          integratedLufs={report.loudness.integratedLufs}
          {...shared}
        />
      </figure>
      {traces.tone.levelsDb.length > 0 && (
        <figure>
          <h3>Spectrum over time</h3>
          <ToneOverTimePlot trace={traces.tone} {...shared} />
        </figure>
      )}
      {traces.stereo && report.stereo ? (
        <>
          <figure>
            <h3>Correlation over time</h3>
            <CorrelationPlot trace={traces.stereo} {...shared} />
          </figure>
          <figure>
            <h3>Width by band over time</h3>
            <WidthOverTimePlot bandNames={bands} trace={traces.stereo} {...shared} />
          </figure>
          <WidthPlot bands={report.stereo.bands} />
        </>
      ) : (
        <p className="note">It is mono: there is no stereo picture to draw.</p>
      )}
    </div>
  );
}

const none: readonly Mark[] = [];

/** The form of the song above its waveform: a press goes there. */
function Sections({ desk }: { desk: Desk }) {
  const { sections, view, lengthSeconds, section: here } = desk;
  if (sections.length < 2) return null;
  const { from, to } = view ?? { from: 0, to: lengthSeconds };
  const share = (time: number) => (100 * (Math.min(to, Math.max(from, time)) - from)) / (to - from);
  return (
    <ul className="sections-strip" aria-label="Sections of the song">
      {sections.map(({ label, startSeconds, endSeconds }, i) => {
        const left = share(startSeconds);
        const width = share(endSeconds) - left;
        if (width <= 0) return null;
        const words = `Section ${label}, ${clock(startSeconds)}–${clock(endSeconds)}`;
        return (
          <li key={startSeconds} style={{ left: `${left}%`, width: `${width}%` }}>
            <button
              type="button"
              className={`section section-${label.charCodeAt(0) % 4}`}
              aria-label={`Go to ${words}`}
              aria-current={i === here ? 'true' : undefined}
              title={words}
              onClick={() => desk.goToSection(startSeconds)}
            >
              {i === here && <span aria-hidden="true">▸</span>}
              {label}
            </button>
          </li>
        );
      })}
    </ul>
  );
}

function ViewTools({ desk }: { desk: Desk }) {
  const { acts, view, setView, lengthSeconds } = desk;
  const travel = (direction: -1 | 1) => {
    if (!view) return;
    const width = view.to - view.from;
    const from = Math.max(0, Math.min(lengthSeconds - width, view.from + (direction * width) / 2));
    setView({ from, to: from + width });
  };
  return (
    <div className="view-tools" role="toolbar" aria-label="View of the plots">
      <span className="note num">{view ? `${clock(view.from, 1)}–${clock(view.to, 1)}` : 'whole song'}</span>
      <button
        type="button"
        className="plain"
        disabled={!view}
        aria-label="Look earlier"
        onClick={() => travel(-1)}
      >
        ←
      </button>
      <button
        type="button"
        className="plain"
        disabled={!view}
        aria-label="Look later"
        onClick={() => travel(1)}
      >
        →
      </button>
      <ActButton act="zoom-in" className="plain" onAct={acts['zoom-in']}>
        <span className="hidden">Look </span>closer
      </ActButton>
      <ActButton act="zoom-out" className="plain" disabled={!view} onAct={acts['zoom-out']}>
        <span className="hidden">Look from </span>further
      </ActButton>
      <ActButton act="whole" className="plain" disabled={!view} onAct={acts.whole}>
        <span className="hidden">See </span>all
      </ActButton>
    </div>
  );
}

/** A note's place on the song's time, for its mark. */
export function marksOf(
  notes: readonly { atSeconds: number; done: boolean }[],
  row: Row | undefined,
): readonly Mark[] {
  return row ? notes.map(({ atSeconds, done }) => ({ atSeconds: songSeconds(row, atSeconds), done })) : none;
}

/** The moment of a version that is heard now. */
export const ownNow = (desk: Desk, row: Row) =>
  Math.max(0, Math.min(row.seconds, ownSeconds(row, desk.player.position())));
