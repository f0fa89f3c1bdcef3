import { placeFigureTexts } from '../judge/place-figures-words.ts';
import { placeSources } from '../judge/place-sources.ts';
import type { PlacesReport, SongInPlace } from '../judge/places-report.ts';
import { clockTime, count, figure, list } from '../judge/wording.ts';
import { html, Markup } from './markup.ts';
import { placeGlance } from './plots/place-glance.ts';
import { reportStyle } from './report-style.ts';

const ownStyle = `
.multiples { display: grid; grid-template-columns: repeat(auto-fill, minmax(12.5rem, 1fr)); gap: 1rem 1.25rem; }
.multiples figure { margin: 0; }
.multiples figcaption b { color: var(--ink); font-weight: 600; }
.multiples .plot text { font-size: 9px; }
.place { break-inside: avoid; margin-top: 1.6rem; }
.place h3 { margin-bottom: .25rem; }
.place ul { margin: .3rem 0 .6rem; padding-left: 1.2rem; }
.out { font-weight: 600; }
@media print { .multiples { grid-template-columns: repeat(4, 1fr); } }
`;

/**
 * Songs in places as one HTML document that needs nothing else: all places at a glance, worst first, then each with its
 * sentences, figures and where they come from. Reads on a screen and prints on A4 and Letter.
 */
export function placesReportHtml(
  reports: readonly PlacesReport[],
  { madeAt }: { readonly madeAt?: string } = {},
): string {
  const title = reports.length === 1 ? reports[0].file.name : count(reports.length, 'song');
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="Everyroom">
<title>Places: ${title}</title>
<style>${new Markup(reportStyle + ownStyle)}</style>
</head>
<body>
<header>Everyroom, how songs sound elsewhere${madeAt === undefined ? '' : html`, <time datetime="${madeAt}">${madeAt.slice(0, 16).replace('T', ' ')} UTC</time>`}</header>
<main>
${reports.map(song)}
</main>
</body>
</html>
`.text;
}

function song(report: PlacesReport): Markup {
  const { file, places, headline, leadNote, against } = report;
  const compared = against.references.length > 0;
  return html`<article class="song">
<h1>${file.name}</h1>
<p class="about">${clockTime(file.seconds)}; ${levelText(report)}; ${againstText(report)}</p>
<p class="headline">${headline}</p>
<h2>All places at a glance, worst first</h2>
<div class="multiples">${places.map(
    (one) =>
      html`<figure>${placeGlance(one)}<figcaption><b>${one.place.name}</b>, ${one.effect ? `${figure(one.effect.levelDba, 0)} dB(A)` : 'silent'}${one.sentences.length > 0 ? `, ${count(one.sentences.length, 'thing')} to look at` : ''}</figcaption></figure>
`,
  )}</div>
<p class="about">Bars: share of the time a band plays in which it is heard there. ${compared ? 'Brackets: from the lowest to the highest of the references. ' : ''}Bass 20–90 Hz, low middle 90–450 Hz, middle 0.45–1.8 kHz, presence 1.8–5.6 kHz, air 5.6–14 kHz.</p>
<h2>Place by place</h2>
${places.map((one) => inPlace(one, compared))}
<h2>The lead</h2>
<p class="about">${leadNote} Speech intelligibility index (ANSI S3.5), 0 to 1; made for speech, so of singing it tells places apart rather than counting words.</p>
<h2>Where each place’s figures come from</h2>
<div class="wide" tabindex="0" role="region" aria-label="Sources"><table>
<thead><tr><th scope="col">Place</th><th scope="col">Figures</th><th scope="col">Source</th><th scope="col">Note</th></tr></thead>
<tbody>${places.flatMap(({ place }) =>
    placeSources(place).map(
      ({ group, title, note }, i) =>
        html`<tr><td>${i === 0 ? place.name : ''}</td><td>${group}</td><td>${title}</td><td>${note}</td></tr>
`,
    ),
  )}</tbody>
</table></div>
<p class="about hash">SHA-256 ${file.sha256}</p>
</article>
`;
}

function inPlace(one: SongInPlace, compared: boolean): Markup {
  const { place, headline, sentences } = one;
  const rows = placeFigureTexts(one);
  const noise = place.noise ? `noise ${figure(place.noise.levelDba, 0)} dB(A)` : 'no noise';
  return html`<section class="place">
<h3>${place.name}</h3>
<p class="about">${noise}${place.wireless ? '; the sound goes there through a lossy wireless coding, which is not part of this' : ''}</p>
${sentences.length === 0 ? html`<p>${headline}</p>` : html`<ul>${sentences.map(({ text }) => html`<li>${text}</li>`)}</ul>`}
${
  rows.length === 0
    ? ''
    : html`<div class="wide" tabindex="0" role="region" aria-label="Figures: ${place.name}"><table>
<thead><tr><th scope="col">Figure</th><th scope="col" class="figure">Here</th>${compared ? html`<th scope="col" class="figure">References</th>` : ''}</tr></thead>
<tbody>${rows.map(
        ({ label, value, references, outside }) =>
          html`<tr class="${outside ? 'out' : ''}"><td>${label}${outside ? ' ◆' : ''}</td><td class="figure">${value}</td>${compared ? html`<td class="figure">${references}</td>` : ''}</tr>
`,
      )}</tbody>
</table></div>`
}
</section>
`;
}

function levelText({ level }: PlacesReport): string {
  if (level === 'talk-over') return 'at the level people talk over in each place';
  return level === 'loud' ? 'at what is loud in each place' : `at ${figure(level, 0)} dB(A) everywhere`;
}

function againstText({ against: { setName, references, leftOut } }: PlacesReport): string {
  const without = leftOut.length === 0 ? '' : `; left out: ${list(leftOut.map(({ name }) => name))}`;
  if (references.length === 0) return `against no references, so by this project’s own bounds${without}`;
  const names =
    setName === null
      ? list(references.map(({ name }) => name))
      : `“${setName}”, ${count(references.length, 'reference')}`;
  return `against ${names}${without}`;
}
