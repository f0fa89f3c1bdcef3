import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useShootoutChanges } from '../api/shootout-queries.ts';
import { say } from '../parts/toasts.tsx';
import { kindWords } from './words.ts';

const failed = { onError: (error: Error) => say(error.message) };
const kinds = ['preference', 'rating', 'abx'] as const;

/** What listeners are asked. */
export function Asking({ shootout }: { shootout: ShootoutDetail }) {
  const { patch } = useShootoutChanges(shootout.id);
  // As it was just chosen, until the server has said the same.
  const { kind, question } = { ...shootout, ...(patch.isPending ? patch.variables : {}) };
  return (
    <>
      <fieldset className="picks">
        <legend className="hidden">What listeners are asked</legend>
        {kinds.map((each) => (
          <label key={each} className="pick">
            <input
              type="radio"
              name="kind"
              checked={kind === each}
              onChange={() => patch.mutate({ kind: each }, failed)}
            />{' '}
            <b>{kindWords[each].word}</b> <span className="note">{kindWords[each].asks}</span>
          </label>
        ))}
      </fieldset>
      {kind === 'rating' && (
        <fieldset className="picks">
          <legend>The question is one of</legend>
          <label className="pick">
            <input
              type="radio"
              name="question"
              checked={question === 'taste'}
              onChange={() => patch.mutate({ question: 'taste' }, failed)}
            />{' '}
            <b>taste</b> <span className="note">Nothing is right; no reference is heard.</span>
          </label>
          <label className="pick">
            <input
              type="radio"
              name="question"
              checked={question === 'damage'}
              onChange={() => patch.mutate({ question: 'damage' }, failed)}
            />{' '}
            <b>damage</b>{' '}
            <span className="note">
              How close to the mix? The mix is the reference, and hides among the sounds with two dulled
              copies of it (as in ITU-R BS.1534-3).
            </span>
          </label>
        </fieldset>
      )}
    </>
  );
}
