import type { Severity } from '../../src/judge/file-report.ts';

/** What each weight is called on the page. */
export const severityWords: Record<Severity, string> = {
  mend: 'To mend',
  look: 'Worth a look',
  fine: 'Fine',
};

/** The weight's own shape: a filled lozenge, an open ring, a tick. Told apart without any colour. */
export function SeverityMark({ severity }: { severity: Severity }) {
  return (
    <svg className={`mark mark-${severity}`} viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
      {severity === 'mend' && <path d="M8 1 15 8 8 15 1 8Z" fill="currentColor" />}
      {severity === 'look' && (
        <circle cx="8" cy="8" r="5.5" fill="none" stroke="currentColor" strokeWidth="2" />
      )}
      {severity === 'fine' && (
        <path d="M2.5 8.5 6.5 12.5 13.5 4" fill="none" stroke="currentColor" strokeWidth="2" />
      )}
    </svg>
  );
}

/** Shape and word together. */
export function SeverityLabel({ severity, text }: { severity: Severity; text?: string }) {
  return (
    <span className={`severity severity-${severity}`}>
      <SeverityMark severity={severity} /> {text ?? severityWords[severity]}
    </span>
  );
}

/** An over: a triangle that points down, here and above the waveform. */
export function OverMark() {
  return (
    <svg className="mark" viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">
      <path d="M1 1h10L6 10Z" fill="var(--accent)" />
    </svg>
  );
}
