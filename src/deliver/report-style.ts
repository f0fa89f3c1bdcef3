/** The report's style sheet: a page of a notebook, light or dark on a screen, black on white on paper. */
export const reportStyle = `
:root {
  color-scheme: light dark;
  --paper: #fdfcf8; --ink: #1f1d1a; --soft: #5f5b53; --rule: #d9d4c8; --wave: #8d99a6; --accent: #0b5c8a;
  --serif: "Iowan Old Style", "Palatino Linotype", Palatino, "Source Serif 4", "Noto Serif", Georgia, serif;
  --sans: system-ui, "Segoe UI", "Noto Sans", "Helvetica Neue", sans-serif;
}
@media (prefers-color-scheme: dark) {
  :root { --paper: #14140f; --ink: #eceae2; --soft: #a8a498; --rule: #3b3931; --wave: #6f7d8b; --accent: #7dc0ea; }
}
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); }
body { max-width: 46rem; margin: 0 auto; padding: 2.5rem 1.25rem 4rem; font: 1rem/1.5 var(--serif); }
header { font: .8125rem/1.4 var(--sans); color: var(--soft); border-bottom: 1px solid var(--rule); padding-bottom: .5rem; }
h1, h2, h3 { font-weight: 600; line-height: 1.25; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; margin: 2rem 0 .15rem; }
h2 { font: 600 .8125rem/1.4 var(--sans); color: var(--soft); margin: 2rem 0 .5rem; border-bottom: 1px solid var(--rule); padding-bottom: .2rem; }
h3 { font-size: 1.0625rem; margin: 0; }
p { margin: .2rem 0; overflow-wrap: anywhere; }
.about, .source, figcaption, .tags { font: .8125rem/1.45 var(--sans); color: var(--soft); }
.headline { font-size: 1.25rem; line-height: 1.4; margin: 1rem 0 1.25rem; }
.song + .song, .failures { border-top: 1px solid var(--rule); margin-top: 3rem; padding-top: 1px; }
.findings { list-style: none; margin: 0; padding: 0; }
.findings li { display: grid; grid-template-columns: 8rem 1fr; margin: 0 0 1rem; break-inside: avoid; }
.findings li.fine { margin-bottom: .35rem; }
.severity { font: 600 .8125rem/1.6 var(--sans); white-space: nowrap; }
.severity svg { width: .8rem; height: .8rem; vertical-align: -.05rem; margin-right: .35rem; }
.mend .severity, .mend h3 { color: var(--accent); }
.fine .severity { color: var(--soft); font-weight: 400; }
.advice { padding-left: 1.1rem; text-indent: -1.1rem; }
table { border-collapse: collapse; font: .8125rem/1.4 var(--sans); font-variant-numeric: tabular-nums; width: 100%; break-inside: avoid; }
th { text-align: left; font-weight: 400; color: var(--soft); }
th, td { padding: .2rem .9rem .2rem 0; border-bottom: 1px solid var(--rule); vertical-align: baseline; }
th:last-child, td:last-child { padding-right: 0; }
.wide { overflow-x: auto; }
.figure { text-align: right; white-space: nowrap; }
.figures { columns: 2; column-gap: 2.5rem; }
.figures div { display: flex; justify-content: space-between; gap: 1rem; font: .8125rem/1.4 var(--sans); padding: .2rem 0; border-bottom: 1px solid var(--rule); break-inside: avoid; }
.figures dl, .figures dt, .figures dd { margin: 0; }
.figures dt { color: var(--soft); }
.figures dd { font-variant-numeric: tabular-nums; white-space: nowrap; }
figure { margin: 1rem 0 0; break-inside: avoid; }
.plot { width: 100%; height: auto; display: block; overflow: visible; }
.plot text { font: 10.5px var(--sans); fill: var(--soft); font-variant-numeric: tabular-nums; }
.plot .rule { stroke: var(--rule); stroke-width: .6; }
.plot .axis { stroke: var(--soft); stroke-width: .8; fill: none; }
.plot .wave { fill: var(--wave); }
.plot .limit { stroke: var(--ink); stroke-width: .7; stroke-dasharray: 3 3; fill: none; }
.plot .over { fill: var(--accent); }
.plot .thin { stroke: var(--wave); stroke-width: .9; fill: none; }
.plot .thick { stroke: var(--ink); stroke-width: 1.6; fill: none; stroke-linejoin: round; }
.plot .whole { stroke: var(--accent); stroke-width: 1.2; stroke-dasharray: 6 3; fill: none; }
.plot .band { fill: var(--wave); }
.plot .shade { fill: var(--ink); }
.strip .section { fill: var(--paper); stroke: var(--soft); stroke-width: .7; }
.strip .s1 { fill: var(--rule); }
.strip .s2 { fill: var(--paper); stroke-dasharray: 3 2; }
.strip .s3 { fill: var(--rule); stroke-dasharray: 3 2; }
.strip text { fill: var(--ink); font-weight: 600; }
caption { text-align: left; color: var(--soft); padding: .8rem 0 .2rem; }
.hash { font-size: .6875rem; overflow-wrap: anywhere; }
@page { margin: 16mm 15mm 18mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt sans-serif; color: #555; } }
@media print {
  :root { --paper: #fff; --ink: #000; --soft: #444; --rule: #bbb; --wave: #8a8a8a; --accent: #0b4f77; }
  html { font-size: 9.5pt; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  body { max-width: none; padding: 0; }
  .song + .song { break-before: page; border: 0; margin-top: 0; }
  h1 { margin-top: 1.2rem; }
  h2 { margin-top: 1.4rem; }
  .figures { break-inside: avoid; }
  .plot { width: 90%; }
  .wide { overflow: visible; }
  figure { margin-top: .5rem; }
  .findings li { margin-bottom: .6rem; }
  h1, h2 { break-after: avoid; }
  .source { font-size: .75rem; }
}
@media (max-width: 34rem) {
  .findings li { grid-template-columns: 1fr; }
  .figures { columns: 1; }
}
`;
