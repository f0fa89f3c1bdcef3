import { useState } from 'react';
import type { Finding } from '../../src/judge/file-report.ts';
import type { Span } from '../../src/measure/measurement.ts';
import { SeverityLabel } from '../parts/severity.tsx';
import type { Places } from '../plots/waveform.tsx';
import { count, inUnit, stretch } from '../words/figures.ts';
import { SourceNote } from './source-note.tsx';

/** What a finding's places do to the waveform. */
export interface PlaceActions {
  /** Marks them, for a glance. */
  show(places: Places): void;
  /** Marks them and brings one into view. */
  visit(places: Places): void;
}

/** Places offered before the rest are asked for. */
const placesAtOnce = 6;

/**
 * The findings that ask for something, in the server's order of weight, and the fine ones folded away below. Without `actions` there is
 * no waveform to show places in, and they are only named.
 */
export function Findings({
  findings,
  actions,
}: {
  findings: readonly Finding[];
  actions: PlaceActions | null;
}) {
  const open = findings.filter((f) => f.severity !== 'fine');
  const fine = findings.filter((f) => f.severity === 'fine');
  return (
    <>
      {open.map((finding) => (
        <article
          key={finding.id}
          className={`finding finding-${finding.severity}`}
          aria-labelledby={finding.id}
        >
          <div className="margin">
            <SeverityLabel severity={finding.severity} />
            <Against finding={finding} />
          </div>
          <div className="finding-words">
            <h3 id={finding.id}>{finding.title}</h3>
            <p className="sentence">{finding.detail}</p>
            {finding.advice && <p className="sentence advice">{finding.advice}</p>}
            <PlaceList finding={finding} actions={actions} />
            <SourceNote id={finding.source} />
          </div>
        </article>
      ))}
      {fine.length > 0 && <FineFindings findings={fine} openByDefault={open.length === 0} />}
    </>
  );
}

/** The figure against the limit it is held to, as a margin note. */
function Against({ finding }: { finding: Finding }) {
  if (finding.value === null || finding.unit === '') return null;
  return (
    <p className="against">
      <span className="num value">
        {inUnit(finding.value, finding.unit)} <small>{finding.unit}</small>
      </span>
      {finding.limit !== null && (
        <span className="num note">
          limit {inUnit(finding.limit, finding.unit)} {finding.unit}
        </span>
      )}
    </p>
  );
}

function PlaceList({ finding, actions }: { finding: Finding; actions: PlaceActions | null }) {
  const [all, setAll] = useState(false);
  const { spans } = finding;
  if (spans.length === 0) return null;
  // Channels fail together: what reads the same is offered once.
  const offered = [...new Map(spans.map((span) => [stretch(span), span]))];
  const places = (current: Span | null): Places => ({ spans, current });
  const hidden = offered.length - placesAtOnce;
  return (
    <ul className="places" aria-label={`Places: ${finding.title}`}>
      {(all ? offered : offered.slice(0, placesAtOnce)).map(([words, span]) => (
        <li key={words}>
          {actions ? (
            <button
              type="button"
              className="place num"
              aria-label={`Show ${words} in the waveform`}
              onFocus={() => actions.show(places(span))}
              onPointerEnter={() => actions.show(places(span))}
              onClick={() => actions.visit(places(span))}
            >
              {words}
            </button>
          ) : (
            <span className="num">{words}</span>
          )}
        </li>
      ))}
      {hidden > 0 && !all && (
        <li>
          <button
            type="button"
            className="plain"
            aria-label={`All ${count(offered.length, 'place')} of: ${finding.title}`}
            onClick={() => setAll(true)}
          >
            all {offered.length}
          </button>
        </li>
      )}
    </ul>
  );
}

function FineFindings({ findings, openByDefault }: { findings: readonly Finding[]; openByDefault: boolean }) {
  return (
    <div className="finding finding-fine">
      <div className="margin">
        <SeverityLabel severity="fine" />
      </div>
      <details className="finding-words fine-list" open={openByDefault}>
        <summary>
          <h3>{count(findings.length, 'thing')} checked and found good</h3>
        </summary>
        <dl>
          {findings.map((finding) => (
            <div key={finding.id}>
              <dt>{finding.title}</dt>
              <dd>
                {finding.detail} <SourceNote id={finding.source} />
              </dd>
            </div>
          ))}
        </dl>
      </details>
    </div>
  );
}
