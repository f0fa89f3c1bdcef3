import type { CSSProperties } from 'react';
import type { Survival } from '../../src/server/api.ts';
import { difference, figure, inUnit } from '../words/figures.ts';

type Report = NonNullable<Survival['report']>;

interface PeakRow {
  readonly formatId: string;
  readonly format: string;
  readonly after: number | null;
  /** Where an unfinished format is expected. */
  readonly low: number | null;
  readonly high: number | null;
}

/** One line a format on a common scale in dBTP: a ring before coding, a lozenge after it. */
export function PeakRows({ report, complete }: { report: Report; complete: boolean }) {
  const before = report.before.truePeakDbtp;
  const rows = rowsOf(report, complete);
  const values = rows.flatMap(({ after, low, high }) => [after, low, high]);
  const all = [...values, before, report.limitDbtp].filter((value) => value !== null);
  if (rows.length === 0 || before === null) return <p className="note">No format has ended yet.</p>;
  const left = Math.floor(Math.min(...all) - 0.4);
  const right = Math.ceil(Math.max(...all) + 0.4);
  const place = (db: number): CSSProperties => ({ left: `${((db - left) / (right - left)) * 100}%` });
  const step = right - left > 12 ? 3 : 1;
  const ticks = Array.from({ length: Math.floor((right - left) / step) + 1 }, (_, i) => left + i * step);
  return (
    <div className="peak-rows">
      <p className="plot-key">
        <span>
          <Mark kind="before" /> before
        </span>
        <span>
          <Mark kind="after" /> after
        </span>
        <span>
          <i className="key-dashed" /> limit, {inUnit(report.limitDbtp, 'dBTP')} dBTP
        </span>
      </p>
      <ul>
        {rows.map(({ formatId, format, after, low, high }) => (
          <li key={formatId}>
            <span className="peak-name">{format}</span>
            <span className="track">
              <span className="track-limit" style={place(report.limitDbtp)} />
              {after === null && low !== null && high !== null && (
                <span
                  className="track-range"
                  style={{ ...place(low), width: `${((high - low) / (right - left)) * 100}%` }}
                />
              )}
              {after !== null && (
                <span
                  className="track-growth"
                  style={{
                    ...place(Math.min(before, after)),
                    width: `${(Math.abs(after - before) / (right - left)) * 100}%`,
                  }}
                />
              )}
              <span className="track-mark" style={place(before)}>
                <Mark kind="before" />
              </span>
              {after !== null && (
                <span className="track-mark" style={place(after)}>
                  <Mark kind="after" />
                </span>
              )}
            </span>
            <span className="num peak-value">
              {after !== null
                ? `${inUnit(after, 'dBTP')} (${difference(after - before)})`
                : `${inUnit(low, 'dBTP')} to ${inUnit(high, 'dBTP')}, expected`}
            </span>
          </li>
        ))}
      </ul>
      <div className="peak-axis" aria-hidden="true">
        <span />
        <span className="track">
          {ticks.map((tick) => (
            <span key={tick} className="tick num" style={place(tick)}>
              {figure(tick, 0)}
            </span>
          ))}
        </span>
        <span className="note">dBTP</span>
      </div>
    </div>
  );
}

function rowsOf({ formats, estimate }: Report, complete: boolean): PeakRow[] {
  const done = formats.map(({ formatId, format, truePeakDbtp }) => ({
    formatId,
    format,
    after: truePeakDbtp,
    low: null,
    high: null,
  }));
  if (complete || !estimate) return done;
  const expected = estimate.formats
    .filter(({ formatId }) => !formats.some((each) => each.formatId === formatId))
    .map(({ formatId, format, lowDbtp, highDbtp }) => ({
      formatId,
      format,
      after: null,
      low: lowDbtp,
      high: highDbtp,
    }));
  return [...done, ...expected];
}

function Mark({ kind }: { kind: 'before' | 'after' }) {
  return (
    <svg className="mark" viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">
      {kind === 'before' ? (
        <circle cx="6" cy="6" r="4" fill="var(--paper)" stroke="var(--ink)" strokeWidth="1.5" />
      ) : (
        <path d="M6 0.5 11.5 6 6 11.5 0.5 6Z" fill="var(--ink)" />
      )}
    </svg>
  );
}
