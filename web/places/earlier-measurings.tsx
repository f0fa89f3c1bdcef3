import { Link } from 'wouter';
import type { Measuring } from '../../src/server/places-api.ts';
import { useMeasuringChanges, useMeasurings } from '../api/place-queries.ts';
import { say } from '../parts/toasts.tsx';

/** Measurings that are kept, to go back to. */
export function EarlierMeasurings() {
  const measurings = useMeasurings();
  const { remove } = useMeasuringChanges();
  const kept = (measurings.data ?? []).filter(({ recording }) => recording !== null);
  if (kept.length === 0) return null;
  return (
    <section className="entry" aria-labelledby="earlier">
      <div className="margin" />
      <div className="body">
        <h2 id="earlier">Measured before</h2>
        <ul className="plain-list">
          {kept.map((measuring) => (
            <li key={measuring.id} className="measure-acts">
              <Link href={`/places/measure/${measuring.id}`}>{measuring.recording?.name}</Link>
              <span className="note">
                {new Date(measuring.createdAt).toLocaleString()}, {standOf(measuring)}
              </span>
              <button
                type="button"
                className="plain"
                aria-label={`Remove the recording ${measuring.recording?.name}`}
                onClick={() => remove.mutate(measuring.id, { onError: (error) => say(error.message) })}
              >
                Remove it
              </button>
            </li>
          ))}
        </ul>
      </div>
    </section>
  );
}

function standOf({ state, placeId, measured }: Measuring): string {
  if (state === 'running') return 'being measured';
  if (state === 'failed') return 'it could not be measured';
  if (state === 'cancelled') return 'cancelled';
  if (placeId) return 'made into a place';
  return measured ? `${measured.sureBands} bands sure` : 'waiting for a recording';
}
