import type uPlot from 'uplot';
import type { Span } from '../../src/measure/measurement.ts';
import type { Ink } from './ink.ts';

/** Draws inside the plotting area only. */
function inside(u: uPlot, draw: (ctx: CanvasRenderingContext2D) => void): void {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  draw(ctx);
  ctx.restore();
}

const middle = (span: Span) => (span.startSeconds + span.endSeconds) / 2;

/** Canvas x of each span's middle, those on the same spot drawn once. */
function spots(u: uPlot, spans: readonly Span[], apart: number): number[] {
  const kept: number[] = [];
  for (const span of spans) {
    const x = u.valToPos(middle(span), 'x', true);
    if (x < u.bbox.left - apart || x > u.bbox.left + u.bbox.width + apart) continue;
    if (kept.length === 0 || x - kept[kept.length - 1]! >= apart) kept.push(x);
  }
  return kept;
}

/** Overs: triangles that point down from above the waveform. */
export function drawOvers(u: uPlot, spans: readonly Span[], ink: Ink, scale: number): void {
  inside(u, (ctx) => {
    ctx.fillStyle = ink.accent;
    const size = 5 * scale;
    for (const x of spots(u, spans, 3 * scale)) {
      ctx.beginPath();
      ctx.moveTo(x - size, u.bbox.top + 1 * scale);
      ctx.lineTo(x + size, u.bbox.top + 1 * scale);
      ctx.lineTo(x, u.bbox.top + 9 * scale);
      ctx.fill();
    }
  });
}

/** Clipped runs: small squares along the foot. */
export function drawClipped(u: uPlot, spans: readonly Span[], ink: Ink, scale: number): void {
  inside(u, (ctx) => {
    ctx.fillStyle = ink.ink;
    const size = 6 * scale;
    const top = u.bbox.top + u.bbox.height - size - 1 * scale;
    for (const x of spots(u, spans, 3 * scale)) ctx.fillRect(x - size / 2, top, size, size);
  });
}

/** The places a finding speaks of: hatched, bracketed bands; the one in hand stands out by two full lines. */
export function drawPlaces(
  u: uPlot,
  spans: readonly Span[],
  current: Span | null,
  ink: Ink,
  scale: number,
): void {
  inside(u, (ctx) => {
    for (const span of spans) {
      const from = u.valToPos(span.startSeconds, 'x', true);
      const to = u.valToPos(span.endSeconds, 'x', true);
      const width = Math.max(to - from, 3 * scale);
      const left = from - (width - (to - from)) / 2;
      if (left > u.bbox.left + u.bbox.width || left + width < u.bbox.left) continue;
      const isCurrent = current !== null && span.startSeconds === current.startSeconds;
      ctx.globalAlpha = isCurrent ? 0.3 : 0.14;
      ctx.fillStyle = ink.accent;
      ctx.fillRect(left, u.bbox.top, width, u.bbox.height);
      if (!isCurrent) continue;
      ctx.globalAlpha = 1;
      ctx.fillRect(left - scale, u.bbox.top, 2 * scale, u.bbox.height);
      ctx.fillRect(left + width - scale, u.bbox.top, 2 * scale, u.bbox.height);
    }
  });
}

/** A horizontal line with its name at the right end. */
export function drawLevel(
  u: uPlot,
  value: number,
  text: string,
  colour: string,
  ink: Ink,
  scale: number,
  dash: readonly number[],
): void {
  const y = u.valToPos(value, 'y', true);
  const { left, width } = u.bbox;
  inside(u, (ctx) => {
    ctx.strokeStyle = colour;
    ctx.lineWidth = scale;
    ctx.setLineDash(dash.map((d) => d * scale));
    ctx.beginPath();
    ctx.moveTo(left, y);
    ctx.lineTo(left + width, y);
    ctx.stroke();
    if (text === '') return;
    ctx.setLineDash([]);
    ctx.font = ink.font.replace('12px', `${12 * scale}px`);
    ctx.textAlign = 'right';
    ctx.textBaseline = 'bottom';
    ctx.lineWidth = 4 * scale;
    ctx.strokeStyle = ink.paper;
    ctx.strokeText(text, left + width - 4 * scale, y - 3 * scale);
    ctx.fillStyle = colour;
    ctx.fillText(text, left + width - 4 * scale, y - 3 * scale);
  });
}
