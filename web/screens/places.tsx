import { Link, useLocation } from 'wouter';
import type { PlaceEntry } from '../../src/server/places-api.ts';
import { type PlaceChanges, usePlaceChanges, usePlaces } from '../api/place-queries.ts';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { shortWords } from '../places/place-words.ts';
import { SmallCurve } from '../plots/small-curve.tsx';
import { count } from '../words/figures.ts';

/** The library of places. */
export function PlacesScreen() {
  const places = usePlaces();
  useTitle('Places');
  if (places.isError && !places.data)
    return <Unanswered error={places.error} retry={() => void places.refetch()} />;
  if (!places.data) return <Message title="Reading the places…" />;
  const own = places.data.filter(({ builtIn }) => !builtIn);
  const builtIn = places.data.filter((entry) => entry.builtIn);
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <p className="note">
            Drawn: the response, 20 Hz to 20 kHz, from −36 to +12 dB. Washed: where the device holds strong
            bass back.
          </p>
        </div>
        <div className="body">
          <h1 className="headline">Where music is heard</h1>
          <p className="sentence">
            A place is a playback system in a room with its noise. Every version can be heard and judged in
            each of them. The figures say where they come from; most are assumptions, and the place you know
            best is the one you measure.
          </p>
          <p>
            <Link className="primary link-button" href="/places/measure">
              Measure a place of your own
            </Link>
          </p>
        </div>
      </div>
      <Shelf
        id="own"
        title={own.length === 0 ? 'None of your own yet' : `${count(own.length, 'place')} of your own`}
      >
        {own.length === 0 ? (
          <p className="sentence">
            Measure a place with a phone and a sweep, in about a minute, or copy one from below and change its
            figures.
          </p>
        ) : (
          <Entries entries={own} />
        )}
      </Shelf>
      <Shelf id="built-in" title={`${count(builtIn.length, 'place')} to begin with`}>
        <Entries entries={builtIn} />
      </Shelf>
    </div>
  );
}

function Shelf({ id, title, children }: { id: string; title: string; children: React.ReactNode }) {
  return (
    <section className="entry" aria-labelledby={id}>
      <div className="margin" />
      <div className="body">
        <h2 id={id}>{title}</h2>
        {children}
      </div>
    </section>
  );
}

function Entries({ entries }: { entries: readonly PlaceEntry[] }) {
  const changes = usePlaceChanges();
  const [, go] = useLocation();
  return (
    <ul className="library">
      {entries.map(({ place, builtIn, sources, from }) => {
        const assumed = sources.filter(({ assumption }) => assumption).length;
        return (
          <li key={place.id} data-library={place.id}>
            <h3>
              <Link href={`/places/${place.id}`} className="title-link">
                {place.name}
              </Link>
            </h3>
            <SmallCurve
              curve={place.response}
              label={`Response of ${place.name}`}
              heldBelowHz={place.protection?.belowHz ?? null}
            />
            <p className="small-axis num" aria-hidden="true">
              <span>20</span>
              <span>Hz</span>
              <span>20k</span>
            </p>
            <p>{shortWords(place)}</p>
            <p className="note">
              {from ? `from “${from.name}”; ` : ''}
              {assumed === 0
                ? 'no group of figures is assumed'
                : `${assumed} of ${sources.length} groups assumed`}
            </p>
            <p className="library-acts">
              <button
                type="button"
                className="plain"
                aria-label={`Copy ${place.name}`}
                disabled={changes.copyPlace.isPending}
                onClick={() =>
                  changes.copyPlace.mutate(place.id, {
                    onSuccess: (copy) => go(`/places/${copy.place.id}`),
                    onError: (error) => say(error.message),
                  })
                }
              >
                Copy
              </button>
              {!builtIn && (
                <button
                  type="button"
                  className="plain"
                  aria-label={`Delete ${place.name}`}
                  onClick={() => removePlace(changes, place)}
                >
                  Delete
                </button>
              )}
            </p>
          </li>
        );
      })}
    </ul>
  );
}

/** Deletes one of the user's own and offers to take that back. */
export function removePlace(changes: PlaceChanges, { id, name }: { id: string; name: string }): void {
  changes.deletePlace.mutateAsync(id).then(
    () => offerUndo(`“${name}” was deleted.`, () => changes.restorePlace.mutate(id)),
    (error: Error) => say(error.message),
  );
}
