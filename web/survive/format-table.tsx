import { Fragment } from 'react';
import type { Survival } from '../../src/server/api.ts';
import { OverMark } from '../parts/severity.tsx';
import { clock, count, difference, figure, inUnit, kilohertz } from '../words/figures.ts';

type Report = NonNullable<Survival['report']>;
type Row = Report['formats'][number];

const columns = 8;

/** What each format made of the song: figures in a line, the sentence under it, the rest on demand. */
export function FormatTable({ report, onListen }: { report: Report; onListen: (formatId: string) => void }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section className="scroll" aria-label="Table of formats" tabIndex={0}>
      <table className="survivals">
        <thead>
          <tr>
            <th scope="col">Format</th>
            <Head name="True peak after" unit="dBTP" />
            <Head name="Growth" unit="dB" />
            <Head name="Overs" />
            <Head name="Cut in a 16-bit player" unit="samples" />
            <Head name="Real rate" unit="kb/s" />
            <Head name="Reaches up to" unit="kHz" />
            <th scope="col">At the services’ level</th>
          </tr>
        </thead>
        <tbody>
          {report.formats.map((row) => (
            <Fragment key={row.formatId}>
              <tr className="survival-figures">
                <th scope="row">{row.format}</th>
                <td className="num" data-survive-peak={row.formatId}>
                  {row.overs > 0 && <OverMark />} {inUnit(row.truePeakDbtp, 'dBTP')}
                </td>
                <td className="num" data-survive-growth={row.formatId}>
                  {difference(row.growthDb)}
                </td>
                <td className="num" data-survive-overs={row.formatId}>
                  {row.overs}
                </td>
                <td className="num" data-survive-cut={row.formatId}>
                  {row.clip.samples}
                </td>
                <td className="num" data-survive-rate={row.formatId}>
                  {figure(row.actualKbps)}
                </td>
                <td className="num">
                  {row.bandwidth.afterHz === null ? '–' : figure(row.bandwidth.afterHz / 1000)}
                </td>
                <td>{atServices(row)}</td>
              </tr>
              <tr className="survival-words">
                <td colSpan={columns}>
                  <p className="sentence">{row.sentence}</p>
                  <div className="survival-line">
                    <button
                      type="button"
                      className="place"
                      aria-label={`Listen to ${row.format}`}
                      onClick={() => onListen(row.formatId)}
                    >
                      Listen
                    </button>
                    <details>
                      <summary className="note">Encoder, noise, stereo and the rest</summary>
                      <Details row={row} />
                    </details>
                  </div>
                </td>
              </tr>
            </Fragment>
          ))}
          {report.failed.map((failure) => (
            <tr key={failure.formatId}>
              <th scope="row">{failure.format}</th>
              <td colSpan={columns - 1} className="note">
                Could not be tried: {failure.reason} <code>{failure.code}</code>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Head({ name, unit }: { name: string; unit?: string }) {
  return (
    <th scope="col" className="num">
      {name} {unit && <small>{unit}</small>}
    </th>
  );
}

/** What is left of it when a service has turned the song to its target, in a few words. */
function atServices({ atTargets }: Row): string {
  const known = atTargets.filter(({ levelChangeDb }) => levelChangeDb !== null);
  if (known.length === 0) return '–';
  const clipping = known.filter(({ cannotClip }) => !cannotClip);
  if (clipping.length === 0) return 'cannot clip';
  const targets = clipping.map(({ targetLufs }) => figure(targetLufs, 0)).join(', ');
  return `can clip at ${targets} LUFS`;
}

function Details({ row }: { row: Row }) {
  const { noise, bandwidth, stereo, preEcho, clip } = row;
  return (
    <dl className="file-note survival-details">
      <Line name="Encoder">
        {row.encoder}, <code>{row.settings}</code>. {row.leaning}
      </Line>
      <Line name="Coded">
        at {kilohertz(row.codedRateHz)}
        {row.pieces > 1 && `, in ${row.pieces} overlapped pieces`}; it came {figure(row.delaySamples, 2)}{' '}
        samples late and was put back
      </Line>
      <Line name="Cut">
        {clip.samples === 0
          ? 'nothing in a 16-bit player'
          : `${count(clip.samples, 'sample')} in ${count(clip.runs, 'run')} in a 16-bit player, ${figure(clip.seconds * 1000, 2)} ms in all, ${figure(clip.longestSeconds * 1000, 2)} ms at the longest`}
      </Line>
      <Line name="At targets">
        <ul>
          {row.atTargets.map((target) => (
            <li key={`${target.targetLufs} ${target.source}`} className="num">
              {figure(target.targetLufs, 0)} LUFS:{' '}
              {target.levelChangeDb === null
                ? 'no loudness, no change'
                : `${difference(target.levelChangeDb)} dB gives ${inUnit(target.truePeakDbtp, 'dBTP')} dBTP, ${
                    target.cannotClip ? 'cannot clip' : `${count(target.clip.samples, 'sample')} cut`
                  }`}
            </li>
          ))}
        </ul>
      </Line>
      <Line name="Noise">
        {noise.noiseToSoundDb === null
          ? 'none'
          : `${figure(noise.noiseToSoundDb)} dB against the sound over all bands`}
      </Line>
      <Line name="Bandwidth">
        {bandwidth.beforeHz === null || bandwidth.afterHz === null
          ? '–'
          : `from ${kilohertz(Math.round(bandwidth.beforeHz))} to ${kilohertz(Math.round(bandwidth.afterHz))}`}
      </Line>
      <Line name="Stereo">
        {stereo
          ? `correlation ${figure(stereo.correlationBefore, 2)} before, ${figure(stereo.correlationAfter, 2)} after; side signal ${difference(stereo.sideChangeDb)} dB`
          : 'mono'}
        {stereo?.worstBand &&
          `, most of it from ${figure(stereo.worstBand.lowHz, 0)} to ${figure(stereo.worstBand.highHz, 0)} Hz (${difference(stereo.worstBand.sideChangeDb)} dB)`}
      </Line>
      <Line name="Pre-echo">
        {preEcho.onsets === 0
          ? 'no sharp onset to look at'
          : `${preEcho.smeared} of ${count(preEcho.onsets, 'sharp onset')} with more noise than sound shortly before`}
        {preEcho.worstDb !== null &&
          preEcho.worstAtSeconds !== null &&
          `; the worst, ${difference(preEcho.worstDb)} dB, at ${clock(preEcho.worstAtSeconds, 1)}`}
      </Line>
    </dl>
  );
}

function Line({ name, children }: { name: string; children: React.ReactNode }) {
  return (
    <div>
      <dt>{name}</dt>
      <dd>{children}</dd>
    </div>
  );
}
