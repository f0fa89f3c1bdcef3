import { useState } from 'react';
import type { FileReport } from '../../src/judge/file-report.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import { bytes, clock, count, kilohertz } from '../words/figures.ts';

/** The file in one line: 'WAV, PCM 24 bit, 48 kHz, 2 channels, 1:12'. */
export function fileLine(file: FileReport['file']): string {
  return [
    file.container,
    file.bitDepth ? `${file.codec} ${file.bitDepth} bit` : file.codec,
    kilohertz(file.sampleRate),
    count(file.channels, 'channel'),
    clock(file.seconds),
  ].join(', ');
}

/** What the file says of itself, and what was tolerated in it. */
export function FileNote({ version, report }: { version: VersionDetail; report: FileReport }) {
  const { file } = report;
  const tags = Object.entries(file.tags);
  return (
    <>
      <dl className="file-note">
        <div>
          <dt>Name</dt>
          <dd>{file.name}</dd>
        </div>
        <div>
          <dt>Sound</dt>
          <dd>
            {fileLine(file)} <span className="num">({file.frames} frames)</span>
          </dd>
        </div>
        <div>
          <dt>Size</dt>
          <dd>{bytes(version.bytes)}</dd>
        </div>
        <div>
          <dt>SHA-256</dt>
          <dd>
            <code className="hash">{file.sha256}</code>
          </dd>
        </div>
        {tags.map(([name, text]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{text}</dd>
          </div>
        ))}
      </dl>
      {file.warnings.map((warning) => (
        <p key={warning} className="sentence">
          {warning}
        </p>
      ))}
      <p className="paperwork">
        <a
          href={`/api/versions/${version.id}/report?profile=${report.profile.id}`}
          target="_blank"
          rel="noopener"
        >
          Report for printing and keeping
        </a>
        <CopyJson report={report} />
        <button type="button" className="plain" onClick={() => window.print()}>
          Print this page
        </button>
      </p>
    </>
  );
}

function CopyJson({ report }: { report: FileReport }) {
  const [said, setSaid] = useState('');
  const copy = () =>
    navigator.clipboard.writeText(JSON.stringify(report, null, 2)).then(
      () => setSaid('Copied.'),
      () => setSaid('The browser did not allow copying.'),
    );
  return (
    <span>
      <button type="button" className="plain" onClick={() => void copy()}>
        Copy the figures as JSON
      </button>{' '}
      <span role="status" className="note">
        {said}
      </span>
    </span>
  );
}
