import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { PlaceEntry, PlaceSource } from '../../src/server/places-api.ts';
import { usePlace, usePlaceChanges } from '../api/place-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { PlaceEditor } from '../places/place-editor.tsx';
import { layoutWords, limitLines } from '../places/place-words.ts';
import { CurvePlot } from '../plots/curve.tsx';
import { figure } from '../words/figures.ts';
import { removePlace } from './places.tsx';

const failed = { onError: (error: Error) => say(error.message) };

/** One place: its figures, where they come from, and a way to change them. */
export function PlaceScreen({ id }: { id: string }) {
  const entry = usePlace(id);
  useTitle(entry.data?.place.name ?? 'Place');
  if (entry.isError && !entry.data)
    return <Unanswered error={entry.error} retry={() => void entry.refetch()} />;
  if (!entry.data) return <Message title="Reading the place…" />;
  return <PlaceSheet entry={entry.data} />;
}

function PlaceSheet({ entry }: { entry: PlaceEntry }) {
  const { place, builtIn, from } = entry;
  const changes = usePlaceChanges();
  const [, go] = useLocation();
  const [editing, setEditing] = useState(false);
  const copy = () =>
    changes.copyPlace.mutate(place.id, { ...failed, onSuccess: (made) => go(`/places/${made.place.id}`) });
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/places">Places</Link> / place
          </nav>
          <p className="note">
            {builtIn ? 'Comes with the program and stays as it is.' : 'Your own.'}
            {from && (
              <>
                {' '}
                From <Link href={`/places/${from.placeId}`}>{from.name}</Link>.
              </>
            )}
          </p>
        </div>
        <div className="body">
          <h1 className="headline with-action">
            {place.name}{' '}
            {!builtIn && (
              <EditableText
                text={place.name}
                label="place"
                onChange={(name) => changes.patchPlace.mutate({ id: place.id, name }, failed)}
              />
            )}
          </h1>
          {!editing && (
            <p className="measure-acts">
              <button type="button" className="secondary" onClick={() => setEditing(true)}>
                {builtIn ? 'Change a copy of it' : 'Change its figures'}
              </button>
              <button type="button" className="plain" disabled={changes.copyPlace.isPending} onClick={copy}>
                Copy it
              </button>
              {!builtIn && (
                <button
                  type="button"
                  className="plain"
                  onClick={() => {
                    // First away from what is about to be no more.
                    go('/places');
                    removePlace(changes, place);
                  }}
                >
                  Delete it
                </button>
              )}
            </p>
          )}
        </div>
      </div>
      {editing ? (
        <div className="entry">
          <div className="margin" />
          <div className="body">
            <PlaceEditor
              entry={entry}
              pending={changes.patchPlace.isPending}
              onCancel={() => setEditing(false)}
              onSave={(next) =>
                changes.patchPlace.mutate(
                  { id: place.id, ...next },
                  {
                    ...failed,
                    onSuccess: (saved) => {
                      setEditing(false);
                      const { id: _id, sources: _sources, ...before } = place;
                      if (builtIn) go(`/places/${saved.place.id}`);
                      else
                        offerUndo(`“${saved.place.name}” was changed.`, () =>
                          changes.patchPlace.mutate({ id: place.id, ...before }, failed),
                        );
                    },
                  },
                )
              }
            />
          </div>
        </div>
      ) : (
        <Figures entry={entry} />
      )}
    </div>
  );
}

function Figures({ entry: { place, sources } }: { entry: PlaceEntry }) {
  const source = (group: PlaceSource['group']) => sources.find((each) => each.group === group);
  return (
    <div className="entry">
      <div className="margin">
        <p className="note">Levels stand at the listener’s ears, A-weighted where it says dB(A).</p>
      </div>
      <div className="body">
        <Group title="Response" source={source('response')}>
          <CurvePlot
            title={`Response of ${place.name}`}
            curve={place.response}
            what="from the file to the listener, against its middle"
            heldBelowHz={place.protection?.belowHz ?? null}
          />
        </Group>
        <Group title="Loudspeakers" source={source('layout')}>
          <dl>
            <dt>How they stand</dt>
            <dd>{layoutWords(place.layout)}</dd>
            <dt>How sound arrives</dt>
            <dd>{place.field === 'free' ? 'from ahead' : 'from all around'}</dd>
          </dl>
        </Group>
        <Group title="What it cannot do" source={source('limits')}>
          <dl>
            {limitLines(place).map(([name, value]) => (
              <Pair key={name} name={name} value={value} />
            ))}
          </dl>
        </Group>
        <Group title="Noise" source={source('noise')}>
          {place.noise ? (
            <>
              <dl>
                <Pair name="Level" value={`${figure(place.noise.levelDba, 1)} dB(A)`} />
              </dl>
              <CurvePlot
                title={`Noise of ${place.name}`}
                curve={place.noise.shape}
                what="third octaves against each other; the level says how loud"
              />
            </>
          ) : (
            <p>None.</p>
          )}
        </Group>
        <Group title="How loud people listen" source={source('levels')}>
          <dl>
            <Pair name="Talk-over" value={`${figure(place.levels.talkOverDba, 1)} dB(A)`} />
            <Pair name="Loud" value={`${figure(place.levels.loudDba, 1)} dB(A)`} />
          </dl>
        </Group>
      </div>
    </div>
  );
}

function Pair({ name, value }: { name: string; value: string }) {
  return (
    <>
      <dt>{name}</dt>
      <dd className="num">{value}</dd>
    </>
  );
}

function Group({
  title,
  source,
  children,
}: {
  title: string;
  source: PlaceSource | undefined;
  children: React.ReactNode;
}) {
  return (
    <section className="place-group" aria-label={title}>
      <h2>{title}</h2>
      {source && (
        <p className="note source-line">
          <b>{source.assumption ? 'Assumption' : 'Source'}</b>
          <span>
            {source.assumption ? '' : `${source.title}: `}
            {source.note}
          </span>
        </p>
      )}
      {children}
    </section>
  );
}
