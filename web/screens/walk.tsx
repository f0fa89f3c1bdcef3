import { Link, useLocation } from 'wouter';
import type { WalkDetail } from '../../src/server/walk-api.ts';
import { useWalk, useWalkChanges, useWalkMaking } from '../api/walk-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { Going } from '../walk/going.tsx';
import { WalkOutcome } from '../walk/outcome.tsx';
import { Stops } from '../walk/stops.tsx';
import { count } from '../words/figures.ts';

/** One walk: where it goes, the notebook, and what the notes come to. */
export function WalkScreen({ id }: { id: string }) {
  const walk = useWalk(id);
  useTitle(walk.data ? `Walk: ${walk.data.title}` : 'Walk');
  if (walk.isError && !walk.data) return <Unanswered error={walk.error} retry={() => void walk.refetch()} />;
  if (!walk.data) return <Message title="Reading the walk…" />;
  const heard = walk.data.stops.some(
    ({ song }) => Object.keys(song.scales).length > 0 || song.words !== null,
  );
  return (
    <div className="sheet">
      <Opening walk={walk.data} />
      <section className="entry" aria-labelledby="stops">
        <div className="margin">
          <p className="note">
            A place of the library is known: what cannot be heard there does not count, and what would be
            heard is predicted.
          </p>
        </div>
        <div className="body">
          <h2 id="stops">
            {walk.data.stops.length === 0 ? 'Where to' : count(walk.data.stops.length, 'place')}
          </h2>
          <Stops walk={walk.data} />
        </div>
      </section>
      <section className="entry" aria-labelledby="notebook">
        <div className="margin">
          <p className="note">
            Never while driving: stop, engine off, then listen. Begin with the place turned well down.
          </p>
        </div>
        <div className="body">
          <h2 id="notebook">The notebook</h2>
          <Going walk={walk.data} />
        </div>
      </section>
      <section className="entry" aria-labelledby="outcome">
        <div className="margin">
          <p className="note">
            Weighed by your trust, by what is heard there, and by how the references sounded there. Nothing is
            changed yet.
          </p>
        </div>
        <div className="body">
          <h2 id="outcome">What the notes come to</h2>
          {heard ? (
            <WalkOutcome walk={walk.data} />
          ) : (
            <p className="sentence">
              Nothing is noted of the song yet. The correction stands here as soon as it is.
            </p>
          )}
        </div>
      </section>
    </div>
  );
}

function Opening({ walk }: { walk: WalkDetail }) {
  const { id, title, songId, songTitle, versionId, versionName, references } = walk;
  const { patch } = useWalkChanges(id);
  const { remove, restore } = useWalkMaking();
  const [, go] = useLocation();
  const drop = () => {
    // First away from what is about to be no more.
    go(`/songs/${songId}`);
    remove.mutateAsync(id).then(
      () => offerUndo(`The walk “${title}” was deleted.`, () => restore.mutate(id)),
      (error: Error) => say(error.message),
    );
  };
  return (
    <div className="entry opening">
      <div className="margin">
        <nav className="note" aria-label="Where this is">
          <Link href="/">Bench</Link> / <Link href={`/songs/${songId}`}>{songTitle}</Link> / walk
        </nav>
        <button type="button" className="plain" onClick={drop}>
          Delete this walk
        </button>
      </div>
      <div className="body">
        <h1 className="headline with-action">
          {title}{' '}
          <EditableText
            text={title}
            label="walk"
            onChange={(text) => patch.mutate({ title: text }, { onError: (error) => say(error.message) })}
          />
        </h1>
        <p className="sentence">
          <Link href={`/versions/${versionId}`}>{versionName}</Link> in real places, after{' '}
          {references.map(({ name }, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: references stay in their order
            <span key={i}>
              {i > 0 && ' and '}
              <em>{name}</em>
            </span>
          ))}
          , all equally loud.
        </p>
      </div>
    </div>
  );
}
