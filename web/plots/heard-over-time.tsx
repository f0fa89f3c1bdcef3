import { useMemo } from 'react';
import type uPlot from 'uplot';
import type { BandEffect } from '../../src/places/place-effect.ts';
import { bandNames } from '../places/band-names.ts';
import { clock, figure } from '../words/figures.ts';
import { axis, timeAxis, yAxisSize } from './axes.ts';
import type { Ink } from './ink.ts';
import { type Drawing, Plot } from './plot.tsx';

/** Height of a full strip in its row of height 1, so that neighbours stay apart. */
const full = 0.8;

/** What is heard when: a strip for each band, as high as the share of the time in which it is heard. */
export function HeardOverTime({
  title,
  bands,
  stepSeconds,
}: {
  title: string;
  bands: readonly BandEffect[];
  stepSeconds: number;
}) {
  const drawing = useMemo<Drawing>(() => {
    const steps = bands[0]?.timeline.length ?? 0;
    const times = Array.from({ length: steps }, (_, i) => (i + 0.5) * stepSeconds);
    const share = (value: number | null | undefined) => (value == null ? '–' : `${figure(100 * value, 0)} %`);
    return {
      data: [times, times.map(() => null)],
      rest: 'full ink: heard; grey: it plays but is not heard; blank: it does not play',
      read: (i) =>
        `at ${clock(times[i] ?? 0, 1)}, heard: ${bands
          .map(({ band, timeline }) => `${bandNames[band].name.toLowerCase()} ${share(timeline[i])}`)
          .join(', ')}`,
      table: {
        columns: ['Time', ...bands.map(({ band }) => `${bandNames[band].name}, heard`)],
        rows: () => times.map((t, i) => [clock(t, 1), ...bands.map(({ timeline }) => share(timeline[i]))]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, range: () => [0, Math.max(steps * stepSeconds, 0.1)] },
          y: { range: [0, bands.length] },
        },
        series: [{}, { show: true, stroke: ink.ink, points: { show: false } }],
        axes: [
          timeAxis(ink),
          axis(ink, {
            size: yAxisSize + 16,
            splits: () => bands.map((_, band) => band + full / 2),
            values: () => bands.map(({ band }) => bandNames[band].short),
          }),
        ],
        cursor: { points: { show: false } },
        hooks: { draw: [(u) => drawStrips(u, ink, bands, stepSeconds)] },
      }),
    };
  }, [bands, stepSeconds]);
  return <Plot title={title} height={190} drawing={drawing} />;
}

function drawStrips(u: uPlot, ink: Ink, bands: readonly BandEffect[], stepSeconds: number): void {
  const { ctx } = u;
  ctx.save();
  bands.forEach(({ timeline }, band) => {
    const foot = u.valToPos(band, 'y', true);
    const height = foot - u.valToPos(band + full, 'y', true);
    timeline.forEach((share, i) => {
      if (share === null) return;
      const left = Math.round(u.valToPos(i * stepSeconds, 'x', true));
      const width = Math.round(u.valToPos((i + 1) * stepSeconds, 'x', true)) - left;
      ctx.fillStyle = ink.rule;
      ctx.fillRect(left, foot - height, width, height);
      ctx.fillStyle = ink.ink;
      ctx.fillRect(left, foot - height * share, width, height * share);
    });
    ctx.fillStyle = ink.soft;
    ctx.fillRect(u.bbox.left, Math.round(foot), u.bbox.width, 1);
  });
  ctx.restore();
}
