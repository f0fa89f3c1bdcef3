import { noFigure } from '../judge/figures/figure.ts';
import { detailGroupsFor, mainGroups } from '../judge/figures/groups.ts';
import type { FileFailure, FileReport, Finding, Severity } from '../judge/file-report.ts';
import { type SourceId, sources } from '../judge/sources.ts';
import { clockTime, limitText, signed, withUnit } from '../judge/wording.ts';
import type { Traces } from '../measure/measurement.ts';
import { figureGroupsHtml } from './figures-html.ts';
import { html, Markup } from './markup.ts';
import { loudnessHistogramPlot } from './plots/histogram.ts';
import { loudnessPlot } from './plots/loudness.ts';
import { psrPlot } from './plots/psr.ts';
import { sectionsStrip } from './plots/sections.ts';
import { spectrumPlot } from './plots/spectrum.ts';
import { toneOverTimePlot } from './plots/tone-over-time.ts';
import { waveformPlot } from './plots/waveform.ts';
import { widthPlot } from './plots/width.ts';
import { reportStyle } from './report-style.ts';

export interface ReportItem {
  readonly report: FileReport;
  readonly traces: Traces;
}

export interface ReportOptions {
  /** Files that could not be read; named at the end. */
  readonly failed?: readonly FileFailure[];
  /** When the report was made, ISO 8601; left out where it is not given. */
  readonly madeAt?: string;
}

const severityWords: Record<Severity, string> = { mend: 'To mend', look: 'Worth a look', fine: 'Fine' };
const placesNamed = 12;

/**
 * The verdict on one or more files as one HTML document that needs nothing else: no script, no font, no picture
 * from elsewhere. Reads well on a light or dark screen and prints on A4 and Letter, a song a page or more. All
 * text that comes from files is escaped.
 */
export function reportHtml(
  items: readonly ReportItem[],
  { failed = [], madeAt }: ReportOptions = {},
): string {
  const title =
    items.length === 1
      ? items[0].report.file.name
      : `${items.length} ${items.length === 1 ? 'song' : 'songs'}`;
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="Everyroom">
<title>Check: ${title}</title>
<style>${new Markup(reportStyle)}</style>
</head>
<body>
<header>Everyroom, a check before the song leaves the bench${madeAt === undefined ? '' : html`, <time datetime="${madeAt}">${madeAt.slice(0, 16).replace('T', ' ')} UTC</time>`}</header>
<main>
${items.map(song)}
${failed.length === 0 ? '' : failures(failed)}
</main>
</body>
</html>
`.text;
}

function song({ report, traces }: ReportItem): Markup {
  const { file, loudness, peak, tone } = report;
  const loudnessDrawn = loudnessPlot(traces.loudness, loudness.integratedLufs, file.seconds);
  const spectrumDrawn = spectrumPlot(tone);
  const toneDrawn = toneOverTimePlot(traces.tone, file.seconds);
  return html`<article class="song">
<h1>${file.name}</h1>
<p class="about">${about(file)}; held against: ${report.profile.name}</p>
${tags(file.tags)}
<p class="headline">${report.headline}</p>
<ul class="findings">${report.findings.map(finding)}</ul>
<h2>Figures</h2>
${figureGroupsHtml(report, mainGroups)}
${loudness.reason === null ? '' : html`<p class="about">${loudness.reason}</p>`}
<h2>Pictures</h2>
<figure>${waveformPlot(traces.waveform, peak.overs, file.seconds)}
${sectionsStrip(report.sections, file.seconds) ?? ''}<figcaption>Waveform${sectionsText(report)}${peak.overs.length > 0 ? '; each ▼ is a place above full scale' : ''}. Dashed: full scale.</figcaption></figure>
${loudnessDrawn === null ? '' : html`<figure>${loudnessDrawn}<figcaption>Loudness over time: thin, over 0.4 s; thick, over 3 s. Dashed: the whole song.</figcaption></figure>`}
${spectrumDrawn === null ? '' : html`<figure>${spectrumDrawn}<figcaption>Spectrum of the whole song in third octaves (IEC 61260-1 centres).</figcaption></figure>`}
${toneDrawn === null ? '' : html`<figure>${toneDrawn}<figcaption>Tone over time: the darker the stronger, in steps of 6 dB.</figcaption></figure>`}
${lossy(report)}
${detailGroupsFor(report).map(
  (group) => html`<h2>${group.title}</h2>
${figureGroupsHtml(report, [group])}${groupPlots(group.id, report, traces)}`,
)}
<p class="about hash">SHA-256 ${file.sha256}</p>
</article>
`;
}

/** What the strip below the waveform shows. */
function sectionsText({ sections }: FileReport): string {
  return sections.sections.length < 2
    ? ''
    : ', and its sections below it: the same letter for the same music, ▲ the loudest, ▽ the quietest';
}

/** What is drawn beside the figures of a group. */
function groupPlots(group: string, report: FileReport, traces: Traces): Markup[] {
  const drawn = (plot: Markup | null, caption: string) =>
    plot === null ? [] : [html`<figure>${plot}<figcaption>${caption}</figcaption></figure>`];
  const { seconds } = report.file;
  if (group === 'dynamics')
    return [
      ...drawn(
        psrPlot(traces.dynamics, seconds),
        'Peak to loudness over time (PSR): the peak of the last three seconds over their loudness; lower is flatter.',
      ),
      ...drawn(
        loudnessHistogramPlot(report.dynamics.loudnessHistogram),
        'How long the song is how loud (400 ms at a time, above −70 LUFS).',
      ),
    ];
  if (group === 'stereo' && report.stereo !== null)
    return drawn(
      widthPlot(report.stereo.bands),
      'Width by band: level of what differs between the sides over what they share; at the floor the band is mono.',
    );
  return [];
}

function about(file: FileReport['file']): string {
  return [
    file.container === file.codec ? file.codec : `${file.container}, ${file.codec}`,
    ...(file.bitDepth === null ? [] : [`${file.bitDepth} bit`]),
    `${Number((file.sampleRate / 1000).toFixed(3))} kHz`,
    file.channels === 1 ? 'mono' : file.channels === 2 ? 'stereo' : `${file.channels} channels`,
    file.seconds < 1 ? `${file.frames} samples` : clockTime(file.seconds),
  ].join(', ');
}

function tags(all: FileReport['file']['tags']): Markup | string {
  const parts = Object.entries(all).map(([name, value]) => `${name}: ${value}`);
  return parts.length === 0 ? '' : html`<p class="tags">${parts.join(' · ')}</p>`;
}

// The same shapes as on the page: a filled lozenge, an open ring, a tick.
const marks: Record<Severity, Markup> = {
  mend: html`<path d="M8 1 15 8 8 15 1 8Z" fill="currentColor"/>`,
  look: html`<circle cx="8" cy="8" r="5.5" fill="none" stroke="currentColor" stroke-width="2"/>`,
  fine: html`<path d="M2.5 8.5 6.5 12.5 13.5 4" fill="none" stroke="currentColor" stroke-width="2"/>`,
};

function finding(f: Finding): Markup {
  const mark = html`<span class="severity"><svg viewBox="0 0 16 16" aria-hidden="true">${marks[f.severity]}</svg>${severityWords[f.severity]}</span>`;
  if (f.severity === 'fine')
    return html`<li class="fine">${mark}<div><p>${f.title}. ${f.detail}</p></div></li>
`;
  return html`<li class="${f.severity}">${mark}<div><h3>${f.title}</h3>
<p>${f.detail}</p>
${f.advice === '' ? '' : html`<p class="advice">→ ${f.advice}</p>`}
${f.spans.length === 0 ? '' : html`<p class="source">${places(f)}</p>`}
<p class="source">${byWhose(f)}</p></div></li>
`;
}

function places({ spans }: Finding): string {
  const times = [...new Set(spans.map((span) => clockTime(span.startSeconds)))];
  const more = times.length - placesNamed;
  return `At ${times.slice(0, placesNamed).join(', ')}${more > 0 ? ` and ${more} more` : ''}.`;
}

function byWhose({ limit, unit, source }: Finding): string {
  const known = Object.hasOwn(sources, source) ? sources[source as SourceId] : null;
  const origin = known === null ? source : `${known.title} (${known.mark})`;
  return limit === null ? origin : `Limit ${limitText(limit, unit)}: ${origin}`;
}

function lossy({ lossy, lossyFailed }: FileReport): Markup | string {
  if (lossy.length === 0 && lossyFailed.length === 0) return '';
  return html`<h2>After lossy coding</h2>
<div class="wide" tabindex="0" role="region" aria-label="After lossy coding"><table>
<thead><tr><th scope="col">Coded as</th><th scope="col" class="figure">Rate</th><th scope="col" class="figure">True peak after</th><th scope="col" class="figure">Growth</th><th scope="col" class="figure">Overs</th><th scope="col">Encoder and settings</th></tr></thead>
<tbody>${lossy.map(
    (trip) =>
      html`<tr><td>${trip.format}</td><td class="figure">${withUnit(trip.actualKbps, 'kb/s', 0)}</td><td class="figure">${trip.truePeakDbtp === null ? noFigure : signed(trip.truePeakDbtp, 'dBTP')}</td><td class="figure">${trip.growthDb === null ? noFigure : signed(trip.growthDb, 'dB')}</td><td class="figure">${trip.overs}</td><td>${trip.encoder} ${trip.settings}</td></tr>
`,
  )}${lossyFailed.map((trip) => html`<tr><td>${trip.format}</td><td colspan="5">${trip.reason} (${trip.code})</td></tr>`)}</tbody>
</table></div>
`;
}

function failures(failed: readonly FileFailure[]): Markup {
  return html`<section class="failures"><h1>Not read</h1><ul>${failed.map(
    ({ name, code, message }) =>
      html`<li>${message.includes(name) ? message : `${name}: ${message}`} (${code})</li>`,
  )}</ul></section>`;
}
