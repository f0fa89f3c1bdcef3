import type { FileReport } from '../../src/judge/file-report.ts';
import type { Span } from '../../src/measure/measurement.ts';
import { OverMark } from '../parts/severity.tsx';
import { difference, figure, inUnit } from '../words/figures.ts';
import type { PlaceActions } from './findings.tsx';

/** What each delivery format really made of the song. Without `actions` there is no waveform to show places in. */
export function LossyTable({ report, actions }: { report: FileReport; actions: PlaceActions | null }) {
  const { lossy, lossyFailed } = report;
  if (lossy.length === 0 && lossyFailed.length === 0)
    return <p className="note">The round trips were left out of this check.</p>;
  const visit = (spans: readonly Span[]) => actions?.visit({ spans, current: spans[0] ?? null });
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section className="scroll" aria-label="Table of formats" tabIndex={0}>
      <table className="lossy">
        <thead>
          <tr>
            <th scope="col">Format</th>
            <th scope="col" className="num">
              True peak after <small>dBTP</small>
            </th>
            <th scope="col" className="num">
              Growth <small>dB</small>
            </th>
            <th scope="col" className="num">
              Overs
            </th>
            <th scope="col" className="num">
              Real rate <small>kb/s</small>
            </th>
            <th scope="col">Encoder and settings</th>
          </tr>
        </thead>
        <tbody>
          {lossy.map((trip) => (
            <tr key={trip.format}>
              <th scope="row">{trip.format}</th>
              <td className="num" data-lossy-peak={trip.format}>
                {trip.overs > 0 && <OverMark />} {inUnit(trip.truePeakDbtp, 'dBTP')}
              </td>
              <td className="num">{difference(trip.growthDb)}</td>
              <td className="num">
                {actions && trip.overSpans.length > 0 ? (
                  <button
                    type="button"
                    className="place"
                    aria-label={`Show the ${trip.overs} overs after ${trip.format} in the waveform`}
                    onClick={() => visit(trip.overSpans)}
                  >
                    {trip.overs}
                  </button>
                ) : (
                  trip.overs
                )}
              </td>
              <td className="num">{figure(trip.actualKbps)}</td>
              <td className="note">
                {trip.encoder}
                <br />
                <code>{trip.settings}</code>
              </td>
            </tr>
          ))}
          {lossyFailed.map((failure) => (
            <tr key={failure.format}>
              <th scope="row">{failure.format}</th>
              <td colSpan={5} className="note">
                Could not be tried: {failure.reason} <code>{failure.code}</code>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
