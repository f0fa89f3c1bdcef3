import { html, type Markup } from '../markup.ts';
import { at } from './scale.ts';

/** The drawing area inside its axes, in drawing units; all plots share it so that times stand below each other. */
export const area = { left: 56, right: 700, top: 10, width: 708 } as const;

export interface Tick {
  readonly position: number;
  readonly label: string;
}

export interface Frame {
  /** What the drawing shows, for those who cannot see it. */
  readonly description: string;
  readonly height: number;
  /** Title with unit of each axis. */
  readonly xTitle: string;
  readonly yTitle: string;
  readonly xTicks: readonly Tick[];
  readonly yTicks: readonly Tick[];
}

/** Height taken by the labels below the drawing area. */
const below = 34;

/** Lower edge of the drawing area of a frame of this height. */
export function bottomOf(height: number): number {
  return height - below;
}

/** An SVG with thin axes, labelled ticks and `content` between them. */
export function frame(
  { description, height, xTitle, yTitle, xTicks, yTicks }: Frame,
  content: Markup[],
): Markup {
  const bottom = bottomOf(height);
  const middle = (area.top + bottom) / 2;
  return html`<svg class="plot" role="img" aria-label="${description}" viewBox="0 0 ${area.width} ${height}">
${yTicks.map(
  ({ position, label }) =>
    html`<line class="rule" x1="${area.left}" x2="${area.right}" y1="${at(position)}" y2="${at(position)}"/><text x="${area.left - 6}" y="${at(position + 3.5)}" text-anchor="end">${label}</text>`,
)}
${content}
<path class="axis" d="M${area.left} ${area.top}V${bottom}H${area.right}"/>
${xTicks.map(
  ({ position, label }) =>
    html`<path class="axis" d="M${at(position)} ${bottom}v4"/><text x="${at(position)}" y="${bottom + 15}" text-anchor="middle">${label}</text>`,
)}
<text class="title" x="${(area.left + area.right) / 2}" y="${height - 3}" text-anchor="middle">${xTitle}</text>
<text class="title" transform="translate(11 ${at(middle)}) rotate(-90)" text-anchor="middle">${yTitle}</text>
</svg>`;
}
