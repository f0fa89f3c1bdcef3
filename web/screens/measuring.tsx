import { useMemo } from 'react';
import { Link } from 'wouter';
import type { Measured, Measuring } from '../../src/server/places-api.ts';
import { useMeasuring, useMeasuringChanges } from '../api/place-queries.ts';
import { ProgressLine } from '../parts/job-line.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { MicrophoneFile } from '../places/microphone-file.tsx';
import { PlaceFromMeasuring } from '../places/place-from-measuring.tsx';
import { BandLevelsPlot } from '../plots/band-levels.tsx';
import { MeasuredResponsePlot } from '../plots/measured-response.tsx';
import { count, figure } from '../words/figures.ts';

/** What came out of one recording of a place, and what can be made of it. */
export function MeasuringScreen({ id }: { id: string }) {
  const measuring = useMeasuring(id);
  useTitle('A place measured');
  if (measuring.isError && !measuring.data)
    return <Unanswered error={measuring.error} retry={() => void measuring.refetch()} />;
  if (!measuring.data) return <Message title="Reading what was measured…" />;
  return <Sheet measuring={measuring.data} />;
}

function Sheet({ measuring }: { measuring: Measuring }) {
  const changes = useMeasuringChanges();
  const { state, stage, progress, error, recording, measured, placeId, microphonePoints } = measuring;
  const name = recording?.name ?? 'the recording';
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/places">Places</Link> / <Link href="/places/measure">measure</Link>
          </nav>
          <p className="note">{name}</p>
        </div>
        <div className="body">
          <h1 className="headline">{headline(measuring)}</h1>
          {state === 'running' && (
            <ProgressLine
              label={`Measuring ${name}`}
              stage={stage || 'starting'}
              progress={progress}
              cancelLabel={`Cancel measuring ${name}`}
              cancelling={changes.cancel.isPending}
              onCancel={() => changes.cancel.mutate(measuring.id)}
            />
          )}
          {state === 'failed' && error && (
            <p className="note">
              <code>{error.code}</code>
            </p>
          )}
          {measured && state === 'done' && (
            <ul className="change-words">
              {measured.sentences.slice(1).map((text) => (
                <li key={text} className="sentence">
                  {text}
                </li>
              ))}
            </ul>
          )}
          {placeId && (
            <p className="sentence">
              It was made into <Link href={`/places/${placeId}`}>a place</Link>.
            </p>
          )}
          {state !== 'running' && (
            <p>
              <Link href="/places/measure" className={measured?.enough ? '' : 'primary link-button'}>
                Record it again
              </Link>
            </p>
          )}
        </div>
      </div>
      {measured && <Result measured={measured} />}
      {recording && state !== 'running' && (
        <section className="entry" aria-labelledby="microphone">
          <div className="margin" />
          <div className="body measure-step">
            <h2 id="microphone">The microphone</h2>
            <p>
              {microphonePoints === 0
                ? 'Nothing is taken out: what the microphone colours counts as the place.'
                : `Its curve of ${count(microphonePoints, 'point')} is taken out.`}
            </p>
            <MicrophoneFile
              name={microphonePoints === 0 ? null : 'A curve is used.'}
              onText={(file) =>
                changes.patch.mutate(
                  { id: measuring.id, microphone: file?.text ?? null },
                  { onError: (failure) => say(failure.message) },
                )
              }
            />
          </div>
        </section>
      )}
      {measured?.enough && state === 'done' && (
        <section className="entry" aria-labelledby="make">
          <div className="margin" />
          <div className="body">
            <h2 id="make">Make a place of it</h2>
            <PlaceFromMeasuring measuring={measuring} changes={changes} />
          </div>
        </section>
      )}
    </div>
  );
}

function headline({ state, error, measured, recording }: Measuring): string {
  if (state === 'running') return `Looking for it in ${recording?.name ?? 'the recording'}.`;
  if (state === 'failed') return error?.message ?? 'It could not be measured.';
  if (state === 'cancelled') return 'Measuring was cancelled.';
  return measured?.sentences[0] ?? 'There is no recording yet.';
}

function Result({ measured }: { measured: Measured }) {
  const { bands, foundDb, startSeconds, gainMovedDb, clipped, sureBands, how } = measured;
  const centresHz = useMemo(() => bands.map(({ centreHz }) => centreHz), [bands]);
  const noise = useMemo(() => bands.map(({ noiseDb }) => noiseDb), [bands]);
  const distortion = useMemo(() => bands.map(({ distortionDb }) => distortionDb), [bands]);
  const some = (levels: readonly (number | null)[]) => levels.some((db) => db !== null);
  return (
    <section className="entry" aria-labelledby="response">
      <div className="margin">
        <dl className="measured-facts">
          <dt>Sure</dt>
          <dd className="num" data-measured="sure">
            {sureBands} of {bands.length} bands
          </dd>
          <dt>Found</dt>
          <dd className="num">
            {figure(foundDb, 0)} dB clear, at {figure(startSeconds)} s
          </dd>
          <dt>Recorder’s gain</dt>
          <dd className="num">
            {how === 'reference'
              ? 'taken out moment by moment'
              : gainMovedDb === null
                ? 'could not be followed'
                : `moved ${figure(gainMovedDb)} dB`}
          </dd>
          <dt>Cut off</dt>
          <dd>{clipped ? 'yes, in part' : 'no'}</dd>
        </dl>
      </div>
      <div className="body">
        <h2 id="response">The response</h2>
        <MeasuredResponsePlot title="Response as measured" bands={bands} />
        <div className="opened-plots even">
          {some(noise) && (
            <BandLevelsPlot
              title="Noise of the place"
              what="third octaves against each other; nobody knows from a recording how loud"
              centresHz={centresHz}
              levelsDb={noise}
            />
          )}
          {some(distortion) && (
            <BandLevelsPlot
              title="Harmonic distortion"
              what="second to fourth harmonic against the tone; −40 dB is 1 %"
              centresHz={centresHz}
              levelsDb={distortion}
            />
          )}
        </div>
      </div>
    </section>
  );
}
