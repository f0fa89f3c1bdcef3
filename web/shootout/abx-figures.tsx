import type { Results } from '../../src/shootout/shootout-shapes.ts';
import { figure } from '../words/figures.ts';
import { IntervalPlot } from './interval-plot.tsx';

type Abx = Extract<Results, { kind: 'abx' }>;

const ticks = [0, 0.25, 0.5, 0.75, 1].map((at) => ({ at, label: `${100 * at} %` }));

/** Who heard the difference, told when the last trial of each is answered. */
export function AbxFigures({
  results: { listeners },
  listenerName,
}: {
  results: Abx;
  listenerName: (id: string) => string;
}) {
  const finished = listeners.flatMap(({ listenerId, trials, result }) =>
    result ? [{ listenerId, trials, ...result }] : [],
  );
  if (finished.length === 0) return null;
  return (
    <IntervalPlot
      title="Share of trials in which each listener was right"
      axis={{ from: 0, to: 1, ticks, zero: 0.5, label: 'Right answers; 50 % is guessing' }}
      rows={finished.map(({ listenerId, trials, correct, needed, heard, p, share }) => ({
        id: listenerId,
        name: listenerName(listenerId),
        value: correct / trials,
        ...share,
        reading: `${correct} of ${trials}${needed === null ? '' : `, ${needed} needed`}: ${heard ? 'heard' : 'not shown'} (p ${p < 0.001 ? '< 0.001' : figure(p, 3)})`,
      }))}
    />
  );
}
