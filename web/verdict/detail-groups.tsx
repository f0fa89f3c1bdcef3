import { detailGroupsFor } from '../../src/judge/figures/groups.ts';
import { formOf } from '../../src/judge/figures/sections.ts';
import type { FileReport } from '../../src/judge/file-report.ts';
import type { Traces } from '../../src/measure/measurement.ts';
import { LoudnessHistogram } from '../plots/histogram.tsx';
import type { View } from '../plots/plot.tsx';
import { PsrPlot } from '../plots/psr.tsx';
import { ToneOverTimePlot } from '../plots/tone-over-time.tsx';
import { WidthPlot } from '../plots/width.tsx';
import { count, figure } from '../words/figures.ts';
import { FigureDetails } from './figure-details.tsx';

/** All that was measured and is seldom asked for, group by group, folded. */
export function DetailGroups({
  report,
  traces,
  view,
  onView,
}: {
  report: FileReport;
  /** undefined while not yet here. */
  traces: Traces | undefined;
  view: View;
  onView: (view: View) => void;
}) {
  const drawn = (id: string) => {
    if (!traces) return null;
    if (id === 'dynamics')
      return (
        <>
          <PsrPlot trace={traces.dynamics} view={view} onView={onView} />
          <LoudnessHistogram histogram={report.dynamics.loudnessHistogram} />
        </>
      );
    if (id === 'stereo' && report.stereo) return <WidthPlot bands={report.stereo.bands} />;
    return null;
  };
  return (
    <section className="entry" aria-labelledby="details">
      <div className="margin">
        <p className="note">All that was measured; open what you want to look up.</p>
      </div>
      <div className="body">
        <h2 id="details">In detail</h2>
        {detailGroupsFor(report).map((group) => (
          <FigureDetails key={group.id} group={group} report={report} hint={hintOf(group.id, report)}>
            {drawn(group.id)}
          </FigureDetails>
        ))}
        {traces && traces.tone.levelsDb.length > 0 && (
          <details className="group">
            <summary>
              <h3>Tone over time</h3> <span className="note">how the spectrum changes from part to part</span>
            </summary>
            <div className="group-body">
              <div className="group-wide">
                <ToneOverTimePlot trace={traces.tone} view={view} onView={onView} />
              </div>
            </div>
          </details>
        )}
      </div>
    </section>
  );
}

/** A group in a few words. */
function hintOf(id: string, report: FileReport): string {
  const { dynamics, stereo, sections, fitness } = report;
  switch (id) {
    case 'dynamics':
      return `PSR ${figure(dynamics.psrMinDb)} dB where it is lowest, ${figure(dynamics.psrMedianDb)} dB in the middle`;
    case 'stereo':
      return `correlation ${figure(stereo?.correlation, 2)}, ${figure(stereo?.foldLossDb)} dB lost in mono`;
    case 'sections':
      return formOf(sections.sections);
    case 'faults': {
      const group = detailGroupsFor(report).find((each) => each.id === id);
      const found = group?.sought.filter((each) => each.found(report) !== null).length ?? 0;
      return found === 0 ? 'none found' : `${count(found, 'thing')} found`;
    }
    default:
      return fitness.headroomDb === null ? '' : `${figure(fitness.headroomDb)} dB of headroom`;
  }
}
