import { figure } from '../words/figures.ts';

/** The meter's ends, dBFS. */
const [foot, top] = [-72, 0];

/** Peaks between which the quiet sweep is heard well: the main one is 14 dB louder and must not be cut off (heuristic). */
const goodPeaks = { fromDbfs: -48, toDbfs: -18 };

/** What the microphone hears now, with the range in which it should lie. */
export function LevelMeter({ peakDbfs, judge }: { peakDbfs: number; judge: boolean }) {
  const at = (dbfs: number) => (100 * (Math.min(top, Math.max(foot, dbfs)) - foot)) / (top - foot);
  const { fromDbfs, toDbfs } = goodPeaks;
  return (
    <div>
      <div className="meter">
        <meter
          className="hidden"
          aria-label="What the microphone hears, peak"
          min={foot}
          max={top}
          value={Math.round(Math.max(foot, peakDbfs))}
          aria-valuetext={`${figure(peakDbfs, 0)} dBFS`}
        />
        <div className="meter-track" aria-hidden="true">
          <span className="meter-level" style={{ width: `${at(peakDbfs)}%` }} />
          <span
            className="meter-good"
            style={{ left: `${at(fromDbfs)}%`, width: `${at(toDbfs) - at(fromDbfs)}%` }}
          />
        </div>
        <span className="num">{figure(peakDbfs, 0)} dBFS</span>
      </div>
      {judge && (
        <p className="note" role="status">
          {peakDbfs < fromDbfs
            ? 'Faint: raise the volume a little, or move nearer.'
            : peakDbfs > toDbfs
              ? 'Strong: the main sweep would be cut off. Turn it down.'
              : 'Between the dashed lines: good.'}
        </p>
      )}
    </div>
  );
}
