import { useRef, useState } from 'react';
import type { Survival } from '../../src/server/api.ts';
import { NoisePlot } from '../plots/coding-noise.tsx';
import { clock, inUnit, stretch } from '../words/figures.ts';
import { FormatTable } from './format-table.tsx';
import { Listen } from './listen.tsx';
import { PeakRows } from './peak-rows.tsx';

type Report = NonNullable<Survival['report']>;

/** Everything below the answer: peaks before and after, the table, what decides, what is heard. */
export function SurvivalBody({
  versionId,
  report,
  complete,
}: {
  versionId: string;
  report: Report;
  complete: boolean;
}) {
  const worst = [...report.formats].sort((a, b) => (b.truePeakDbtp ?? -999) - (a.truePeakDbtp ?? -999))[0];
  const [chosen, setChosen] = useState<string | null>(null);
  const [at, setAt] = useState<number | null>(null);
  const listening = useRef<HTMLDivElement>(null);
  const row = report.formats.find(({ formatId }) => formatId === chosen) ?? worst;

  const listenTo = (formatId: string, atSeconds: number | null) => {
    setChosen(formatId);
    setAt(atSeconds);
    listening.current?.scrollIntoView({ block: 'center' });
    listening.current?.focus({ preventScroll: true });
  };

  return (
    <>
      <section className="entry" aria-labelledby="peaks-title">
        <div className="margin">
          <p className="note">
            Before coding the true peak is {inUnit(report.before.truePeakDbtp, 'dBTP')} dBTP.
            {!complete &&
              report.estimate &&
              ' A bar shows where a format is expected that has not ended yet.'}
          </p>
        </div>
        <div className="body">
          <h2 id="peaks-title">True peak before and after</h2>
          <PeakRows report={report} complete={complete} />
        </div>
      </section>

      <section className="entry" aria-labelledby="formats-title">
        <div className="margin">
          <p className="note">
            Each format was really coded and decoded, and laid over the original to a hundredth of a sample.
          </p>
        </div>
        <div className="body">
          <h2 id="formats-title">What each format makes of it</h2>
          <FormatTable report={report} onListen={(formatId) => listenTo(formatId, null)} />
        </div>
      </section>

      {report.moments.length > 0 && (
        <section className="entry" aria-labelledby="moments-title">
          <div className="margin">
            <p className="note">
              The highest moments after decoding, with the formats that pass the limit there.
            </p>
          </div>
          <div className="body">
            <h2 id="moments-title">The moments that decide</h2>
            <ol className="moments">
              {report.moments.map((moment) => {
                const first = report.formats.find(({ format }) => format === moment.formats[0]) ?? worst;
                const middle = (moment.startSeconds + moment.endSeconds) / 2;
                return (
                  <li key={moment.startSeconds}>
                    <span className="num">{stretch(moment)}</span>{' '}
                    <span className="num">{inUnit(moment.peakDbtp, 'dBTP')} dBTP</span>{' '}
                    <span>{formatsInShort(moment.formats, report.formats.length)}</span>{' '}
                    {first && (
                      <button
                        type="button"
                        className="place"
                        aria-label={`Listen at ${clock(middle, 1)} after ${first.format}`}
                        onClick={() => listenTo(first.formatId, middle)}
                      >
                        Listen
                      </button>
                    )}
                  </li>
                );
              })}
            </ol>
          </div>
        </section>
      )}

      {row && (
        <section className="entry" aria-labelledby="listen-title">
          <div className="margin">
            <p className="note">
              <strong>Start low.</strong> Turn the volume down before you press play, and raise it slowly. The
              difference is noise by nature; never turn it up to search for something you cannot hear.
            </p>
          </div>
          <div className="body">
            <h2 id="listen-title">Listen to it</h2>
            <Listen
              ref={listening}
              versionId={versionId}
              report={report}
              row={row}
              at={at}
              onFormat={(formatId) => {
                setChosen(formatId);
                setAt(null);
              }}
              onAt={setAt}
            />
            <h3 className="under">Spectrum of the difference, {row.format}</h3>
            <NoisePlot format={row.format} noise={row.noise} />
          </div>
        </section>
      )}
    </>
  );
}

/** Formats named before the rest are counted. */
const named = 4;

function formatsInShort(names: readonly string[], all: number): string {
  // A codec and its rate stay on one line.
  const formats = names.map((name) => name.replace(/ (?=\d)/g, '\u00a0'));
  if (formats.length === 0) return 'within the limit in every format';
  if (formats.length === all && all > 1) return 'every format';
  if (formats.length <= named + 1) return formats.join(', ');
  return `${formats.slice(0, named).join(', ')} and ${formats.length - named} more`;
}
