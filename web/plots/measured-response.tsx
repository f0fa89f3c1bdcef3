import { useMemo } from 'react';
import uPlot from 'uplot';
import type { Measured } from '../../src/server/places-api.ts';
import { figure, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import type { Ink } from './ink.ts';
import { drawLevel } from './marks.ts';
import { type Drawing, Plot } from './plot.tsx';

type Band = Measured['bands'][number];

/** How far the axis reaches around the middle, dB; a response that leaves it is cut off. */
const [topDb, footDb] = [18, -42];
/** What is drawn of an expected error at most, dB. */
const mostErrorDb = 12;

/** The response as measured: bands that are sure as filled dots on a line, others as rings with how wrong they may be. */
export function MeasuredResponsePlot({ title, bands }: { title: string; bands: readonly Band[] }) {
  const drawing = useMemo<Drawing>(() => {
    const within = (db: number | null) => (db === null ? null : Math.min(topDb, Math.max(footDb, db)));
    const words = ({ db, errorDb, sure }: Band) =>
      db === null
        ? 'nothing can be said'
        : `${figure(db)} dB, ${sure ? 'sure' : 'not sure'}, ±${figure(errorDb)} dB`;
    return {
      data: [bands.map(({ centreHz }) => centreHz), bands.map(({ db, sure }) => (sure ? within(db) : null))],
      rest: 'response in third octaves, against its middle',
      read: (i) => {
        const band = bands[i];
        return band ? `${hertz(band.centreHz)} Hz: ${words(band)}` : '';
      },
      table: {
        columns: ['Centre Hz', 'Response dB', 'Expected error dB', 'Sure', 'Over the noise dB'],
        rows: () =>
          bands.map(({ centreHz, db, errorDb, sure, overNoiseDb }) => [
            hertz(centreHz),
            figure(db),
            figure(errorDb),
            sure ? 'yes' : 'no',
            figure(overNoiseDb),
          ]),
      },
      options: (ink) => ({
        scales: { x: { time: false, distr: 3, range: () => [18, 22_000] }, y: { range: [footDb, topDb] } },
        series: [{}, { stroke: ink.ink, width: 2.5, spanGaps: false, points: { show: false } }],
        axes: [
          hertzAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [6, 12],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { show: false } },
        hooks: {
          draw: [
            (u) => {
              drawLevel(u, 0, '', ink.soft, ink, uPlot.pxRatio, [4, 3]);
              drawBands(u, ink, bands);
            },
          ],
        },
      }),
    };
  }, [bands]);
  return (
    <Plot title={title} height={280} drawing={drawing}>
      <p className="plot-key">
        <span>
          <i className="key-sure" /> sure, within 0.5 to 0.7 dB
        </span>
        <span>
          <i className="key-unsure" /> not sure: the upright is how wrong it may be
        </span>
      </p>
    </Plot>
  );
}

function drawBands(u: uPlot, ink: Ink, bands: readonly Band[]): void {
  const { ctx } = u;
  const scale = uPlot.pxRatio;
  ctx.save();
  ctx.strokeStyle = ink.ink;
  ctx.lineWidth = 1.5 * scale;
  for (const { centreHz, db, errorDb, sure } of bands) {
    if (db === null) continue;
    const x = u.valToPos(centreHz, 'x', true);
    const at = (level: number) => u.valToPos(Math.min(topDb, Math.max(footDb, level)), 'y', true);
    if (!sure) {
      const error = Math.min(mostErrorDb, errorDb);
      ctx.beginPath();
      ctx.moveTo(x, at(db + error));
      ctx.lineTo(x, at(db - error));
      ctx.stroke();
    }
    ctx.beginPath();
    ctx.arc(x, at(db), 3.5 * scale, 0, 2 * Math.PI);
    ctx.fillStyle = sure ? ink.ink : ink.paper;
    ctx.fill();
    ctx.stroke();
  }
  ctx.restore();
}
