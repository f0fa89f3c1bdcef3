import { sources } from '../../judge/sources.ts';
import { figure } from '../../judge/wording.ts';
import { trackCuts } from '../assembly/album-plan.ts';
import { discTime } from '../assembly/disc.ts';
import type { DeliveryResult, ProvenFile } from '../delivery-result.ts';
import { html, Markup } from '../markup.ts';
import { fullTitle } from '../planned-file.ts';
import { recordFiguresPlot } from '../plots/record-figures.ts';
import { type DeliveryProfileId, deliveryProfileOf } from '../profiles/profiles.ts';
import { printedIsrc } from '../record/check-digits.ts';
import { reportStyle } from '../report-style.ts';
import { consistencySentences, headlineOf, lengthText, turnedDownSentences } from './record-words.ts';

const furtherStyle = `
.check-no { font-weight: 600; color: var(--accent); }
.plot .song-number { fill: var(--ink); font-weight: 600; }
section.file { break-inside: avoid; margin-top: 1.2rem; }
.mono { font-size: .6875rem; overflow-wrap: anywhere; }
`;

/**
 * The report on a delivery as one HTML document that needs nothing else; prints on A4 and Letter. The same delivery gives the
 * same bytes: no time of day is in it. All text that comes from people and files is escaped.
 */
export function deliveryHtml(result: DeliveryResult, version: string): string {
  const { record, findings, exceptions, files } = result;
  const taken = new Set(exceptions.map(({ check }) => check));
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="Everyroom">
<title>Delivery: ${record.title}</title>
<style>${new Markup(reportStyle + furtherStyle)}</style>
</head>
<body>
<header>Everyroom ${version}, a record on its way out</header>
<main>
<h1>${record.title}</h1>
<p class="about">${[record.artist, kinds[record.kind], record.catalogNumber, record.label, record.releaseDate].filter((part) => part !== '').join(' · ')}</p>
<p class="headline">${headlineOf(result)}</p>
${
  exceptions.length === 0
    ? ''
    : html`<h2>Taken on</h2><ul>${exceptions.map(
        ({
          check,
          by,
          why,
        }) => html`<li>${sentenceOf(result, check)} Taken on by ${by}${why === '' ? '' : `: ${why}`}.</li>
`,
      )}</ul>`
}
${
  findings.length === 0
    ? ''
    : html`<h2>To know</h2><ul>${findings
        .filter(({ id }) => !taken.has(id))
        .map(
          ({ sentence }) => html`<li>${sentence}</li>
`,
        )}</ul>`
}
<h2>The record</h2>
${words(result)}
${songs(result)}
${cuePoints(result)}
${sides(result)}
<h2>Songs beside each other</h2>
<figure>${recordFiguresPlot(result.consistency)}<figcaption>Each number is a song. The tick is the middle of the record, the thick line what is usual around it (heuristic).</figcaption></figure>
${[...consistencySentences(result), ...turnedDownSentences(result)].map(
  (sentence) => html`<p>${sentence}</p>
`,
)}
<h2>Files</h2>
${[...new Set(files.map(({ profileId }) => profileId))].map((id) =>
  filesOfProfile(
    id,
    files.filter(({ profileId }) => profileId === id),
  ),
)}
</main>
</body>
</html>
`.text;
}

const kinds = { single: 'single', ep: 'EP', album: 'album' } as const;

function words({ record }: DeliveryResult): Markup {
  const rows = [
    ['UPC / EAN', record.barcode],
    ['Genre', record.genre],
    ['Language', record.language],
    ['Copyright', record.copyright],
    ['Dither seed', String(record.seed)],
  ].filter(([, value]) => value !== '');
  return html`<dl class="figures">${rows.map(([name, value]) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl>`;
}

function songs({ record, plan, consistency }: DeliveryResult): Markup {
  const cuts = plan ? trackCuts(plan) : [];
  return html`<div class="wide" tabindex="0" role="region" aria-label="Songs"><table>
<thead><tr><th scope="col" class="figure">No.</th><th scope="col">Title</th><th scope="col">Written by</th><th scope="col">ISRC</th><th scope="col" class="figure">Begins</th><th scope="col" class="figure">Length</th><th scope="col" class="figure">Loudness, LUFS</th><th scope="col" class="figure">True peak, dBTP</th></tr></thead>
<tbody>${record.songs.map((song, i) => {
    const { loudness, truePeakDbtp } = consistency.songs[i].figures;
    const rate = plan?.sampleRate ?? 1;
    return html`<tr><td class="figure">${i + 1}</td><td>${fullTitle(song)}${song.artist === '' ? '' : html`<br>${song.artist}`}${song.explicit === 'no' ? '' : html`<br>${song.explicit === 'yes' ? 'explicit' : 'clean'}`}</td><td>${song.writers.join(', ')}</td><td>${song.isrc === '' ? '' : printedIsrc(song.isrc)}</td><td class="figure">${cuts[i] ? lengthText(cuts[i].from / rate) : ''}</td><td class="figure">${cuts[i] ? lengthText((cuts[i].to - cuts[i].from) / rate) : ''}</td><td class="figure">${loudness === null ? '–' : figure(loudness)}</td><td class="figure">${truePeakDbtp === null ? '–' : figure(truePeakDbtp)}</td></tr>
`;
  })}</tbody>
</table></div>`;
}

function cuePoints({ plan: first, disc: onDisc }: DeliveryResult): Markup | string {
  const plan = onDisc ?? first;
  if (!plan) return '';
  return html`<h2>Cue points</h2>
<table>
<thead><tr><th scope="col" class="figure">No.</th><th scope="col" class="figure">Pause from, sample</th><th scope="col" class="figure">Mark, sample</th>${onDisc ? html`<th scope="col" class="figure">min:s:frame</th>` : ''}<th scope="col" class="figure">Sound from</th><th scope="col" class="figure">to</th></tr></thead>
<tbody>${plan.tracks.map(({ markFrame, pauseFrame, startFrame, endFrame }, i) => {
    const mark = i === 0 ? 0 : markFrame;
    return html`<tr><td class="figure">${i + 1}</td><td class="figure">${pauseFrame ?? ''}</td><td class="figure">${mark}</td>${onDisc ? html`<td class="figure">${discTime(mark)}</td>` : ''}<td class="figure">${startFrame}</td><td class="figure">${endFrame}</td></tr>
`;
  })}</tbody>
</table>
<p class="about">Samples at ${plan.sampleRate} Hz, ${plan.frames} in all.</p>`;
}

function sides({ sides: found }: DeliveryResult): Markup | string {
  if (!found) return '';
  return html`<h2>Sides</h2><ul>${found.sides.map(
    ({
      name,
      songs: own,
      from,
      to,
    }) => html`<li>Side ${name}: songs ${own[0] + 1} to ${own[own.length - 1] + 1}, ${lengthText((to - from) / found.sampleRate)}</li>
`,
  )}</ul>`;
}

/** The files of one profile: their figures, and what all of them were held against. */
function filesOfProfile(id: string, files: readonly ProvenFile[]): Markup {
  const points = new Map(files.flatMap(({ checks }) => checks.map((check) => [check.id, check] as const)));
  const failed = files.flatMap(({ name, checks }) =>
    checks.filter(({ passed }) => !passed).map((check) => ({ name, check })),
  );
  return html`<section class="file"><h3>${deliveryProfileOf(id as DeliveryProfileId).name}</h3>
<div class="wide" tabindex="0" role="region" aria-label="Files"><table>
<thead><tr><th scope="col">File</th><th scope="col" class="figure">Samples</th><th scope="col" class="figure">Hz</th><th scope="col" class="figure">LUFS</th><th scope="col" class="figure">Range, LU</th><th scope="col" class="figure">dBTP</th><th scope="col">Contract</th></tr></thead>
<tbody>${files.map(({ name, frames, sampleRate, found, checks }) => {
    const { integratedLufs = null, rangeLu = null, truePeakDbtp = null } = found?.reading ?? {};
    const level = (value: number | null) => (value === null ? '–' : figure(value, 2));
    const met = checks.filter(({ passed }) => passed).length;
    return html`<tr><td>${name.slice(name.indexOf('/') + 1)}<br><span class="mono">${found?.sha256 ?? ''}</span></td><td class="figure">${frames}</td><td class="figure">${sampleRate}</td><td class="figure">${level(integratedLufs)}</td><td class="figure">${level(rangeLu)}</td><td class="figure">${level(truePeakDbtp)}</td><td>${met === checks.length ? `all ${met} met` : html`<span class="check-no">${met} of ${checks.length} met</span>`}</td></tr>
`;
  })}</tbody>
</table></div>
<p class="about">Held against: ${[...points.values()].map(({ what, wanted, source }) => `${what.toLowerCase()} (${wanted.replace(/^\d+ samples$/, 'to the sample')}${source === null ? '' : `; ${sources[source].title}`})`).join(' · ')}${files[0]?.dithered ? '. Shortened with triangular dither.' : '.'}</p>
${
  failed.length === 0
    ? ''
    : html`<ul>${failed.map(
        ({
          name,
          check,
        }) => html`<li><span class="check-no">Not met.</span> ${name}: ${check.what}, wanted ${check.wanted}, found ${check.found}.</li>
`,
      )}</ul>`
}
</section>
`;
}

/** What an exception let pass, in words. */
function sentenceOf({ findings, files }: DeliveryResult, id: string): string {
  const finding = findings.find((each) => each.id === id);
  if (finding) return finding.sentence;
  const [check, ...rest] = id.split('@');
  const own = files.find(({ name }) => name === rest.join('@'))?.checks.find((each) => each.id === check);
  return own ? `${rest.join('@')}: ${own.what}, wanted ${own.wanted}, found ${own.found}.` : `${id}.`;
}
