import type { ShootoutResults } from '../../src/server/shootout-api.ts';
import { AbxFigures } from './abx-figures.tsx';
import { PairFigures } from './pair-figures.tsx';
import { RatingFigures } from './rating-figures.tsx';

/** The votes in words, then in figures. Crowning or not is the server's word. */
export function Results({ results: answer, asHeadline }: { results: ShootoutResults; asHeadline: boolean }) {
  const { results, sentences, names, listenerNames } = answer;
  const nameOf = (id: string) => names.find((each) => each.id === id)?.name ?? id;
  const listenerName = (id: string) => listenerNames.find((each) => each.id === id)?.name ?? id;
  const [verdict, ...rest] = sentences;
  return (
    <div className="results">
      {asHeadline ? <p className="verdict-sentence">{verdict}</p> : <p className="sentence">{verdict}</p>}
      {rest.map((sentence) => (
        <p key={sentence} className="sentence">
          {sentence}
        </p>
      ))}
      {results.kind === 'preference' && (
        <PairFigures results={results} nameOf={nameOf} listenerName={listenerName} />
      )}
      {results.kind === 'rating' && (
        <RatingFigures results={results} nameOf={nameOf} listenerName={listenerName} />
      )}
      {results.kind === 'abx' && <AbxFigures results={results} listenerName={listenerName} />}
    </div>
  );
}
