import type { PairResult, Results } from '../../src/shootout/shootout-shapes.ts';
import { count, figure } from '../words/figures.ts';
import { type IntervalAxis, IntervalPlot } from './interval-plot.tsx';

type Pairs = Extract<Results, { kind: 'preference' }>;
type NameOf = (id: string) => string;
type Interval = PairResult['strengths'][number]['interval'];

/** The axis reaches this far at least, and no farther than that: intervals may have no end. */
const [leastReach, mostReach] = [2, 6];

const percent = (share: number) => `${figure(100 * share, 0)} %`;
const shareOf = (strength: number) => 1 / (1 + Math.exp(-strength));
const signedFigure = (value: number | null) => (value === null ? 'open' : figure(value, 2));
const range = ({ low, high }: Interval) => `${signedFigure(low)} to ${signedFigure(high)}`;
const shareRange = ({ low, high }: Interval) =>
  `${percent(low === null ? 0 : shareOf(low))} to ${percent(high === null ? 1 : shareOf(high))}`;

/** Strengths of a shoot-out by pairs: plot, tables, listeners. */
export function PairFigures({
  results: { all, kept, listeners },
  nameOf,
  listenerName,
}: {
  results: Pairs;
  nameOf: NameOf;
  listenerName: NameOf;
}) {
  return (
    <>
      {all && (
        <>
          <IntervalPlot
            title="How often each would be preferred to the mean of all"
            axis={axisFor([all, kept])}
            rows={all.strengths.map(({ entryId, strength, interval, shareAgainstMean }) => {
              const second = kept?.strengths.find((each) => each.entryId === entryId);
              return {
                id: entryId,
                name: nameOf(entryId),
                value: strength,
                low: interval.low,
                high: interval.high,
                reading: percent(shareAgainstMean),
                second: second ? { value: second.strength, ...second.interval } : null,
              };
            })}
          />
          <StrengthTable caption={kept ? 'All listeners' : 'Strengths'} result={all} nameOf={nameOf} />
          {kept && <StrengthTable caption="Without those set aside" result={kept} nameOf={nameOf} />}
          <PairTable result={all} nameOf={nameOf} />
        </>
      )}
      {listeners.length > 0 && (
        <details className="data-table plain-table">
          <summary>Listeners, and how consistent each was</summary>
          <Scroll label="Listeners">
            <table className="figures">
              <thead>
                <tr>
                  <th scope="col">Listener</th>
                  <th scope="col" className="num">
                    Votes
                  </th>
                  <th scope="col" className="num">
                    Repeats alike
                  </th>
                  <th scope="col" className="num">
                    Circles of three
                  </th>
                  <th scope="col">Set aside</th>
                </tr>
              </thead>
              <tbody>
                {listeners.map(({ listenerId, votes, repeats, triads, setAside }) => (
                  <tr key={listenerId}>
                    <th scope="row">{listenerName(listenerId)}</th>
                    <td className="num">{votes}</td>
                    <td className="num">
                      {repeats.asked === 0 ? '–' : `${repeats.same} of ${repeats.asked}`}
                    </td>
                    <td className="num">
                      {triads.decided === 0 ? '–' : `${triads.circular} of ${triads.decided}`}
                    </td>
                    <td>
                      {setAside === null
                        ? 'no'
                        : setAside === 'repeats'
                          ? 'yes, by repeats'
                          : 'yes, by circles'}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Scroll>
        </details>
      )}
    </>
  );
}

function axisFor(results: readonly (PairResult | null)[]): IntervalAxis {
  const ends = results.flatMap((result) =>
    (result?.strengths ?? []).flatMap(({ strength, interval: { low, high } }) => [
      strength,
      low ?? 0,
      high ?? 0,
    ]),
  );
  const reach = Math.min(mostReach, Math.max(leastReach, ...ends.map(Math.abs)) * 1.08);
  const ticks = [0.01, 0.1, 0.25, 0.5, 0.75, 0.9, 0.99]
    .map((share) => ({ at: Math.log(share / (1 - share)), label: percent(share) }))
    .filter(({ at }) => Math.abs(at) <= reach);
  return {
    from: -reach,
    to: reach,
    ticks,
    zero: 0,
    label: 'Share of deciding votes against the mean of all, on the scale of strengths (ln of the odds)',
  };
}

function StrengthTable({ caption, result, nameOf }: { caption: string; result: PairResult; nameOf: NameOf }) {
  const others = result.strengths.some(({ chanceBestForOthers }) => chanceBestForOthers !== null);
  return (
    <Scroll label={caption}>
      <table className="figures strengths">
        <caption>
          {caption}, {count(result.votes, 'vote')} of {count(result.listenerIds.length, 'listener')}
        </caption>
        <thead>
          <tr>
            <th scope="col">Master</th>
            <th scope="col" className="num">
              Strength <small>ln odds</small>
            </th>
            <th scope="col" className="num">
              95 % <small>by likelihood</small>
            </th>
            <th scope="col" className="num">
              95 % <small>{others ? 'by listeners drawn anew' : 'by votes drawn anew'}</small>
            </th>
            <th scope="col" className="num">
              Points
            </th>
            <th scope="col" className="num">
              Best <small>chance, these listeners</small>
            </th>
            {others && (
              <th scope="col" className="num">
                Best <small>chance, others like them</small>
              </th>
            )}
          </tr>
        </thead>
        <tbody>
          {result.strengths.map((each) => (
            <tr key={each.entryId}>
              <th scope="row">{nameOf(each.entryId)}</th>
              <td className="num">{figure(each.strength, 2)}</td>
              <td className="num">{range(each.interval)}</td>
              <td className="num">{range(each.listenersInterval ?? each.votesInterval)}</td>
              <td className="num">{figure(each.points, 1)}</td>
              <td className="num">{percent(each.chanceBest)}</td>
              {others && (
                <td className="num">
                  {each.chanceBestForOthers === null ? '–' : percent(each.chanceBestForOthers)}
                </td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function PairTable({ result, nameOf }: { result: PairResult; nameOf: NameOf }) {
  return (
    <details className="data-table plain-table">
      <summary>Pair by pair</summary>
      <Scroll label="Pair by pair">
        <table className="figures">
          <thead>
            <tr>
              <th scope="col">Pair</th>
              <th scope="col" className="num">
                Prefer the first
              </th>
              <th scope="col" className="num">
                95 %
              </th>
            </tr>
          </thead>
          <tbody>
            {result.pairs.map(({ entryId, otherId, share, interval }) => (
              <tr key={`${entryId} ${otherId}`}>
                <th scope="row">
                  {nameOf(entryId)} against {nameOf(otherId)}
                </th>
                <td className="num">{percent(share)}</td>
                <td className="num">{shareRange(interval)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </details>
  );
}

/** A table that may be wider than the page. */
export function Scroll({ label, children }: { label: string; children: React.ReactNode }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section className="scroll" aria-label={label} tabIndex={0}>
      {children}
    </section>
  );
}
