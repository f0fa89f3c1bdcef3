import { useMemo, useState } from 'react';
import uPlot from 'uplot';
import type { Chain } from '../../src/finish/chain.ts';
import type { ChainLook } from '../../src/server/chains-api.ts';
import { useLook } from '../api/chain-queries.ts';
import { axis, timeAxis, yAxisSize } from '../plots/axes.ts';
import { drawLevel } from '../plots/marks.ts';
import { type Drawing, Plot } from '../plots/plot.tsx';
import { clock, figure } from '../words/figures.ts';

type Reduction = ChainLook['reductions'][number];

/** What a limiter or compressor takes away over the song: asked for, because the whole song goes through the chain for it. */
export function ReductionView({
  versionId,
  chain,
  partId,
  seconds,
}: {
  versionId: string;
  /** As it is kept. */
  chain: Chain;
  partId: string;
  seconds: number;
}) {
  /** The chain that was looked at: another one is looked at when it is asked for. */
  const [wanted, setWanted] = useState<Chain | null>(null);
  const current = wanted === chain;
  const look = useLook(versionId, wanted ?? chain, wanted !== null);
  const reduction = look.data?.reductions.find((each) => each.partId === partId);
  return (
    <section className="reduction" aria-label="Gain reduction over time">
      <h4>What it takes away over the song</h4>
      {look.isFetching ? (
        <p className="sentence" role="status">
          Sending the song through the chain…{' '}
          <button type="button" className="plain" onClick={() => setWanted(null)}>
            Cancel
          </button>
        </p>
      ) : (
        <div className="act-line">
          <button
            type="button"
            className="secondary"
            disabled={current && look.data !== undefined}
            onClick={() => setWanted(chain)}
          >
            {wanted ? 'Look again' : 'Look at it over the whole song'}
          </button>
          {wanted && !current && <span className="note">The chain has changed since.</span>}
        </div>
      )}
      {look.error && (
        <p className="sentence" role="alert">
          {look.error.message}
        </p>
      )}
      {reduction && (
        <>
          <p className="sentence">
            {reduction.mostDb > -0.05
              ? 'It takes nothing away anywhere.'
              : `At most ${figure(-reduction.mostDb)} dB; 1 dB and more in ${figure(100 * reduction.busyShare, 0)} % of the time.`}
          </p>
          <ReductionPlot reduction={reduction} seconds={seconds} />
        </>
      )}
    </section>
  );
}

function ReductionPlot({ reduction, seconds }: { reduction: Reduction; seconds: number }) {
  const drawing = useMemo<Drawing>(() => {
    const { stepSeconds, reductionDb } = reduction;
    const times = reductionDb.map((_, i) => (i + 0.5) * stepSeconds);
    const deepest = Math.min(-3, Math.floor(reduction.mostDb / 3) * 3);
    return {
      data: [times, [...reductionDb]],
      rest: `the most in each ${figure(1000 * stepSeconds, 0)} ms`,
      read: (i) => `${clock(times[i] ?? 0, 1)}: ${figure(reductionDb[i])} dB`,
      table: {
        columns: ['Time', 'Gain dB'],
        rows: () => reductionDb.map((db, i) => [clock(times[i] ?? 0, 2), figure(db)]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, range: () => [0, seconds] },
          y: { range: [deepest, 0] },
        },
        series: [{}, { stroke: ink.ink, width: 1.5, fill: ink.wash, fillTo: 0, points: { show: false } }],
        axes: [
          timeAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [1, 2, 3, 6, 12],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
        hooks: { draw: [(u) => drawLevel(u, 0, '', ink.soft, ink, uPlot.pxRatio, [4, 3])] },
      }),
    };
  }, [reduction, seconds]);
  return <Plot title="Gain reduction over time" height={180} drawing={drawing} />;
}
