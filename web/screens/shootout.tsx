import { Link, useLocation } from 'wouter';
import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useShootout, useShootoutChanges, useShootoutMaking } from '../api/shootout-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { Asking } from '../shootout/asking.tsx';
import { Entries } from '../shootout/entries.tsx';
import { FarAway } from '../shootout/far-away.tsx';
import { Incoming } from '../shootout/incoming.tsx';
import { Lessons } from '../shootout/lessons.tsx';
import { Listeners } from '../shootout/listeners.tsx';
import { Outcome, Reveal, VotesSoFar } from '../shootout/outcome.tsx';
import { Pack } from '../shootout/pack.tsx';
import { SectionsChoice } from '../shootout/sections-choice.tsx';
import { SharingSwitch } from '../shootout/sharing.tsx';
import { Size } from '../shootout/size.tsx';
import { about, kindWords, moment, writtenSeconds } from '../shootout/words.ts';
import { count } from '../words/figures.ts';

/** One shoot-out, as its host sees it: set up, then voted on, then revealed. */
export function ShootoutScreen({ id }: { id: string }) {
  const shootout = useShootout(id);
  useTitle(shootout.data ? `Shoot-out: ${shootout.data.title}` : 'Shoot-out');
  if (shootout.isError && !shootout.data)
    return <Unanswered error={shootout.error} retry={() => void shootout.refetch()} />;
  if (!shootout.data) return <Message title="Reading the shoot-out…" />;
  const { state } = shootout.data;
  return (
    <div className="sheet">
      <Opening shootout={shootout.data} />
      {state === 'draft' && <Draft shootout={shootout.data} />}
      {state === 'open' && <Open shootout={shootout.data} />}
      {state === 'revealed' && <Revealed shootout={shootout.data} />}
    </div>
  );
}

function Opening({ shootout }: { shootout: ShootoutDetail }) {
  const { id, title, songId, songTitle, state, mixName, mixVersionId, revealedAt, entries, votes } = shootout;
  const { patch } = useShootoutChanges(id);
  const { remove, restore } = useShootoutMaking();
  const [, go] = useLocation();
  const drop = () => {
    // First away from what is about to be no more.
    go(`/songs/${songId}`);
    remove.mutateAsync(id).then(
      () => offerUndo(`The shoot-out “${title}” was deleted.`, () => restore.mutate(id)),
      (error: Error) => say(error.message),
    );
  };
  return (
    <div className="entry opening">
      <div className="margin">
        <nav className="note" aria-label="Where this is">
          <Link href="/">Bench</Link> / <Link href={`/songs/${songId}`}>{songTitle}</Link> / shoot-out
        </nav>
        <p className="note">
          The mix: <Link href={`/versions/${mixVersionId}`}>{mixName}</Link>
        </p>
        <button type="button" className="plain" onClick={drop}>
          Delete this shoot-out
        </button>
      </div>
      <div className="body">
        <h1 className="headline with-action">
          {title}{' '}
          <EditableText
            text={title}
            label="shoot-out"
            onChange={(text) => patch.mutate({ title: text }, { onError: (error) => say(error.message) })}
          />
        </h1>
        <p className="sentence">
          {state === 'draft' &&
            'Masters of one mix, made equally loud, cut alike and heard without names. Three things to settle: who takes part, what is asked, how many listen.'}
          {state === 'open' &&
            `Voting is open: ${count(entries.length, 'master')}, ${count(votes, 'vote')} so far.`}
          {state === 'revealed' &&
            `Revealed ${revealedAt === null ? '' : moment(revealedAt)}: ${count(entries.length, 'master')}, ${count(votes, 'vote')}.`}
        </p>
      </div>
    </div>
  );
}

function Draft({ shootout }: { shootout: ShootoutDetail }) {
  return (
    <>
      <section className="entry" aria-labelledby="masters">
        <div className="margin">
          <Incoming shootoutId={shootout.id} />
        </div>
        <div className="body">
          <h2 id="masters">
            {shootout.entries.length === 0 ? 'No master yet' : count(shootout.entries.length, 'master')}
          </h2>
          <Entries shootout={shootout} />
          <Pack shootout={shootout} />
        </div>
      </section>
      <section className="entry" aria-labelledby="asking">
        <div className="margin" />
        <div className="body">
          <h2 id="asking">What is asked</h2>
          <Asking shootout={shootout} />
        </div>
      </section>
      <section className="entry" aria-labelledby="sections">
        <div className="margin">
          <p className="note">
            Sections as found in the mix, 20 s at most of each. Short ones make room for more rounds.
          </p>
        </div>
        <div className="body">
          <h2 id="sections">Which parts are heard</h2>
          <SectionsChoice shootout={shootout} />
        </div>
      </section>
      <section className="entry" aria-labelledby="size">
        <div className="margin">
          <p className="note">After 20 minutes ears are tired; rounds are dealt out to fit.</p>
        </div>
        <div className="body">
          <h2 id="size">How many listen, how often</h2>
          <Size shootout={shootout} />
        </div>
      </section>
    </>
  );
}

function Open({ shootout }: { shootout: ShootoutDetail }) {
  return (
    <>
      <section className="entry" aria-labelledby="listeners">
        <div className="margin">
          <p className="note">
            Who is through is told here as it happens; how anybody voted is not told before the reveal.
          </p>
        </div>
        <div className="body">
          <h2 id="listeners">Listeners</h2>
          <Listeners shootout={shootout} />
          <SharingSwitch shootout={shootout} />
          <FarAway shootout={shootout} />
        </div>
      </section>
      <section className="entry" aria-labelledby="ending">
        <div className="margin" />
        <div className="body">
          <h2 id="ending">The end of it</h2>
          <Reveal shootout={shootout} />
          <VotesSoFar shootout={shootout} />
        </div>
      </section>
      <Fixed shootout={shootout} />
    </>
  );
}

function Revealed({ shootout }: { shootout: ShootoutDetail }) {
  return (
    <>
      <section className="entry" aria-labelledby="outcome">
        <div className="margin" />
        <div className="body">
          <h2 id="outcome">What the votes say</h2>
          <Outcome shootout={shootout} />
        </div>
      </section>
      <section className="entry" aria-labelledby="lessons">
        <div className="margin">
          <p className="note">Tone, width and dynamics are told at equal loudness, as they were heard.</p>
        </div>
        <div className="body">
          <h2 id="lessons">What they did differently</h2>
          <Lessons shootout={shootout} />
        </div>
      </section>
      <Fixed shootout={shootout} />
    </>
  );
}

/** What was settled when voting opened. */
function Fixed({ shootout }: { shootout: ShootoutDetail }) {
  const { kind, sections, size, fairNotes } = shootout;
  return (
    <section className="entry" aria-labelledby="settled">
      <div className="margin" />
      <div className="body">
        <h2 id="settled">As it was settled</h2>
        <p className="sentence">
          {kindWords[kind].asks}{' '}
          {size && `${count(size.rounds, 'round')} a listener, ${about(size.secondsEach)}.`}
        </p>
        <p className="note num">
          Heard:{' '}
          {sections
            .map(
              ({ label, startSeconds, endSeconds }) =>
                `${label} ${writtenSeconds(startSeconds)}–${writtenSeconds(endSeconds)}`,
            )
            .join(', ')}
        </p>
        {fairNotes.length > 0 && (
          <ul className="fair-notes">
            {fairNotes.map((note) => (
              <li key={note} className="note">
                {note}
              </li>
            ))}
          </ul>
        )}
        <details className="group">
          <summary>
            <h3>Who takes part</h3> <span className="note">{count(shootout.entries.length, 'master')}</span>
          </summary>
          <Entries shootout={shootout} />
        </details>
      </div>
    </section>
  );
}
