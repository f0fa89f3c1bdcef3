import type { Results } from '../../src/shootout/shootout-shapes.ts';
import { figure } from '../words/figures.ts';
import { IntervalPlot } from './interval-plot.tsx';
import { Scroll } from './pair-figures.tsx';

type Ratings = Extract<Results, { kind: 'rating' }>;
type NameOf = (id: string) => string;

const anchorWords: Partial<Record<string, string>> = {
  reference: 'the mix itself',
  'mid-anchor': 'the mix, dulled above 7 kHz',
  'low-anchor': 'the mix, dulled above 3.5 kHz',
};
const ticks = [0, 20, 40, 60, 80, 100].map((at) => ({ at, label: String(at) }));

/** Scores of a shoot-out by rating: plot, table, listeners. */
export function RatingFigures({
  results: { all, kept, listeners },
  nameOf,
  listenerName,
}: {
  results: Ratings;
  nameOf: NameOf;
  listenerName: NameOf;
}) {
  if (!all) return null;
  const word = (stimulus: string) => anchorWords[stimulus] ?? nameOf(stimulus);
  const ranked = [...all.stimuli].sort((a, b) => b.mean - a.mean);
  return (
    <>
      <IntervalPlot
        title="Mean score of each"
        axis={{ from: 0, to: 100, ticks, label: 'Mean score, 0 to 100' }}
        rows={ranked.map(({ stimulus, mean, interval }) => {
          const second = kept?.stimuli.find((each) => each.stimulus === stimulus);
          return {
            id: stimulus,
            name: word(stimulus),
            value: mean,
            ...interval,
            reading: figure(mean, 0),
            second: second ? { value: second.mean, ...second.interval } : null,
            aside: anchorWords[stimulus] !== undefined,
          };
        })}
      />
      <Scroll label="Scores">
        <table className="figures strengths">
          <caption>Scores</caption>
          <thead>
            <tr>
              <th scope="col">Sound</th>
              <th scope="col" className="num">
                Mean
              </th>
              <th scope="col" className="num">
                95 %
              </th>
              <th scope="col" className="num">
                Median
              </th>
              <th scope="col" className="num">
                Middle half
              </th>
              {kept && (
                <th scope="col" className="num">
                  Mean <small>without those set aside</small>
                </th>
              )}
            </tr>
          </thead>
          <tbody>
            {ranked.map(({ stimulus, mean, interval, median, quartiles }) => (
              <tr key={stimulus}>
                <th scope="row">{word(stimulus)}</th>
                <td className="num">{figure(mean)}</td>
                <td className="num">
                  {interval.low === null ? 'open' : figure(interval.low)} to{' '}
                  {interval.high === null ? 'open' : figure(interval.high)}
                </td>
                <td className="num">{figure(median)}</td>
                <td className="num">
                  {figure(quartiles[0])} to {figure(quartiles[1])}
                </td>
                {kept && (
                  <td className="num">
                    {figure(kept.stimuli.find((each) => each.stimulus === stimulus)?.mean)}
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      <ul className="note listeners-kept">
        {listeners.map(({ listenerId, screens, referenceMissed, anchorMissed, kept: isKept }) => (
          <li key={listenerId}>
            {listenerName(listenerId)}: {screens} screens
            {referenceMissed + anchorMissed > 0 &&
              `, hidden reference below 90 on ${referenceMissed}, mid anchor above 90 on ${anchorMissed}`}
            {!isKept && '; set aside'}
          </li>
        ))}
      </ul>
    </>
  );
}
