import type uPlot from 'uplot';
import type { Ink } from './ink.ts';

/**
 * Draws bands over time as a picture: each step a column, each band a cell of height 1 from the foot up.
 *
 * @param steps one array a step, a value a band; null leaves the paper
 * @param share of ink for a value, 0..1; what is below 0 leaves the paper
 */
export function drawRows(
  u: uPlot,
  ink: Ink,
  times: readonly number[],
  stepSeconds: number,
  steps: readonly (readonly (number | null)[])[],
  share: (value: number) => number,
): void {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.fillStyle = ink.ink;
  steps.forEach((values, i) => {
    const at = times[i] ?? 0;
    const left = Math.floor(u.valToPos(at - stepSeconds / 2, 'x', true));
    const right = Math.ceil(u.valToPos(at + stepSeconds / 2, 'x', true));
    if (right < bbox.left || left > bbox.left + bbox.width) return;
    values.forEach((value, band) => {
      const alpha = value === null ? 0 : share(value);
      if (alpha <= 0) return;
      const top = Math.round(u.valToPos(band + 1, 'y', true));
      ctx.globalAlpha = Math.min(1, alpha);
      ctx.fillRect(left, top, right - left, Math.round(u.valToPos(band, 'y', true)) - top);
    });
  });
  ctx.restore();
}
