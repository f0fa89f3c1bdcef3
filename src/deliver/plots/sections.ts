import type { FileReport } from '../../judge/file-report.ts';
import { clockTime } from '../../judge/wording.ts';
import { html, type Markup } from '../markup.ts';
import { area } from './frame.ts';
import { at, linear } from './scale.ts';

const height = 26;

/** The form of the song as a strip that lines up with the plots over time; a letter comes back where its music does. */
export function sectionsStrip(
  { sections, loudest, quietest }: FileReport['sections'],
  seconds: number,
): Markup | null {
  if (sections.length < 2) return null;
  const x = linear(0, seconds, area.left, area.right);
  const words = sections.map(({ label, startSeconds }) => `${label} at ${clockTime(startSeconds)}`);
  return html`<svg class="plot strip" role="img" aria-label="Sections: ${words.join(', ')}" viewBox="0 0 ${area.width} ${height}">
${sections.map(({ startSeconds, endSeconds, label }, i) => {
  const left = x(startSeconds);
  const width = Math.max(1, x(endSeconds) - left - 1);
  const note = i === loudest ? ' ▲' : i === quietest ? ' ▽' : '';
  return html`<rect class="section s${label.charCodeAt(0) % 4}" x="${at(left)}" y="1" width="${at(width)}" height="${height - 6}"/><text x="${at(left + 4)}" y="14">${width > 22 ? label + note : width > 9 ? label : ''}</text>`;
})}
</svg>`;
}
