import { useRef, useState } from 'react';
import type { SweepAbout } from '../../src/server/places-api.ts';
import { figure } from '../words/figures.ts';
import { LevelMeter } from './level-meter.tsx';
import { useRecorder } from './use-recorder.ts';

/** The sweep begins well below where it will be needed: nobody knows how far the volume is turned up. */
const firstGainDb = -30;
/** So much of the quiet sweep is played to set the level, s. */
const checkSeconds = 4;

/** Three ways to a recording: played and recorded here, recorded here while something else plays, or brought as a file. */
export function RecordingPanel({
  sweep,
  sweepSeconds,
  allowed,
  onRecording,
}: {
  /** null: a known song plays there, from elsewhere. */
  sweep: SweepAbout | null;
  sweepSeconds: number;
  /** Whether the cautions were read: nothing is played before. */
  allowed: boolean;
  onRecording: (file: File) => void;
}) {
  const microphone = useRecorder(sweepSeconds);
  const [gainDb, setGainDb] = useState(firstGainDb);
  const file = useRef<HTMLInputElement>(null);
  const { state, trouble, kept, peakDbfs, seconds } = microphone;
  const busy = state === 'opening' || state === 'checking' || state === 'recording';
  const taken = (recorded: File | null) => {
    if (!recorded) return;
    microphone.close();
    onRecording(recorded);
  };
  return (
    <div className="measure-step">
      {sweep && (
        <section aria-labelledby="here" className="measure-step">
          <h3 id="here">Play and record here</h3>
          <p className="sentence">
            For the loudspeakers this machine plays through and a microphone it has. Check the level first: it
            plays {checkSeconds} seconds of the quiet sweep.
          </p>
          <label className="level-slider">
            Volume of the sweep
            <input
              type="range"
              min={-60}
              max={0}
              step={1}
              value={gainDb}
              aria-valuetext={`${figure(gainDb, 0)} dB`}
              onChange={(event) => setGainDb(Number(event.target.value))}
            />
            <span className="num level-value">{figure(gainDb, 0)} dB</span>
          </label>
          <p className="measure-acts">
            <button
              type="button"
              className="secondary"
              disabled={busy || !allowed}
              onClick={() =>
                void microphone.check(gainDb, {
                  startSeconds: sweep.quietStartSeconds,
                  seconds: Math.min(checkSeconds, sweep.mainStartSeconds - sweep.quietStartSeconds),
                })
              }
            >
              Check the level
            </button>
            <button
              type="button"
              className="primary"
              disabled={busy || !allowed}
              onClick={() => void microphone.recordSweep(gainDb).then(taken)}
            >
              Play the sweep and record it
            </button>
            {!allowed && <span className="note">Read the cautions above first, and say so.</span>}
          </p>
        </section>
      )}
      <section aria-labelledby="only" className="measure-step">
        <h3 id="only">{sweep ? 'Record here what plays elsewhere' : 'Record it here'}</h3>
        <p className="measure-acts">
          <button type="button" className="secondary" disabled={busy} onClick={() => void microphone.begin()}>
            Begin recording
          </button>
        </p>
      </section>
      {state !== 'closed' && (
        <div className="measure-step" data-recorder={state}>
          <LevelMeter peakDbfs={peakDbfs} judge={state === 'checking'} />
          {kept.length > 0 && (
            <p className="sentence">
              This browser keeps {kept.join(' and ')} on, though it was asked not to: the recording will be
              taken with care, and a phone’s recording may be better.
            </p>
          )}
          {state === 'recording' && (
            <p className="measure-acts" role="status">
              <span className="num">Recording, {figure(seconds, 0)} s</span>
              <button
                type="button"
                className="primary"
                onClick={() => {
                  microphone.stop();
                  taken(microphone.end());
                }}
              >
                End and use it
              </button>
              <button type="button" className="plain" onClick={microphone.close}>
                Throw it away
              </button>
            </p>
          )}
          {state === 'checking' && (
            <button type="button" className="secondary" onClick={microphone.stop}>
              Stop
            </button>
          )}
          {state === 'open' && (
            <button type="button" className="plain" onClick={microphone.close}>
              Close the microphone
            </button>
          )}
        </div>
      )}
      {trouble && (
        <p className="sentence" role="alert">
          {trouble}
        </p>
      )}
      <section aria-labelledby="bring" className="measure-step">
        <h3 id="bring">Bring a recording</h3>
        <p className="sentence">
          From a phone or a recorder: any common sound file that holds the whole{' '}
          {sweep ? 'sweep' : 'stretch of the song'}, lossless if it can be, with nothing done to it.
        </p>
        <p className="measure-acts">
          <input
            ref={file}
            type="file"
            accept="audio/*,video/mp4,.wav,.flac,.m4a,.aac,.ogg,.opus,.mp3"
            className="hidden"
            tabIndex={-1}
            aria-label="Recording file"
            onChange={(event) => {
              const [chosen] = event.target.files ?? [];
              if (chosen) onRecording(chosen);
              event.target.value = '';
            }}
          />
          <button type="button" className="secondary" disabled={busy} onClick={() => file.current?.click()}>
            Choose the file
          </button>
        </p>
      </section>
    </div>
  );
}
