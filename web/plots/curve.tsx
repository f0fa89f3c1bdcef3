import { useMemo } from 'react';
import uPlot from 'uplot';
import type { Curve } from '../../src/places/place.ts';
import { figure, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { drawLevel } from './marks.ts';
import { type Drawing, Plot } from './plot.tsx';

/** The axis shows at least this much, dB, and no more than that below the top. */
const [leastSpanDb, mostSpanDb] = [24, 72];

/** A curve over frequency with its points, flat beyond its ends as it is read everywhere. */
export function CurvePlot({
  title,
  curve,
  what,
  heldBelowHz = null,
}: {
  title: string;
  curve: Curve;
  what: string;
  /** Below this a device holds strong bass back: drawn as a wash. */
  heldBelowHz?: number | null;
}) {
  const drawing = useMemo<Drawing>(() => {
    const [first, last] = [curve[0], curve.at(-1)];
    if (!first || !last) throw new RangeError('a curve has a point');
    const inside = curve.filter(({ hertz: hz }) => hz >= 20 && hz <= 20_000);
    const levels = curve.map(({ db }) => db);
    const top = Math.ceil((Math.max(...levels) + 2) / 6) * 6;
    const foot = Math.max(
      top - mostSpanDb,
      Math.min(top - leastSpanDb, Math.floor((Math.min(...levels) - 1) / 6) * 6),
    );
    const points = [
      ...(first.hertz > 20 ? [{ hertz: 20, db: first.db }] : []),
      ...inside,
      ...(last.hertz < 20_000 ? [{ hertz: 20_000, db: last.db }] : []),
    ];
    const own = new Set(inside.map(({ hertz: hz }) => hz));
    return {
      data: [
        points.map(({ hertz: hz }) => hz),
        points.map(({ db }) => Math.max(foot, db)),
        points.map(({ hertz: hz, db }) => (own.has(hz) ? Math.max(foot, db) : null)),
      ],
      rest: what,
      read: (i) => `${hertz(points[i]?.hertz ?? 0)} Hz, ${figure(points[i]?.db)} dB`,
      table: {
        columns: ['Hz', 'dB'],
        rows: () => curve.map((point) => [hertz(point.hertz), figure(point.db)]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, distr: 3, range: () => [20, 20_000] },
          y: { range: [foot, top] },
        },
        series: [
          {},
          { stroke: ink.ink, width: 2.5, points: { show: false } },
          {
            stroke: 'transparent',
            width: 0,
            points: { show: true, size: 6, fill: ink.ink, stroke: ink.ink },
          },
        ],
        axes: [
          hertzAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [3, 6, 12, 24],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { show: false } },
        hooks: {
          drawClear: [
            ({ ctx, bbox, valToPos }) => {
              if (heldBelowHz === null) return;
              ctx.fillStyle = ink.wash;
              ctx.fillRect(bbox.left, bbox.top, valToPos(heldBelowHz, 'x', true) - bbox.left, bbox.height);
            },
          ],
          draw: [(u) => drawLevel(u, 0, '', ink.soft, ink, uPlot.pxRatio, [4, 3])],
        },
      }),
    };
  }, [curve, what, heldBelowHz]);
  return (
    <Plot title={title} height={220} drawing={drawing}>
      {heldBelowHz !== null && (
        <p className="plot-key">
          <span>
            <i className="key-wash" /> strong bass is held back here
          </span>
        </p>
      )}
    </Plot>
  );
}
