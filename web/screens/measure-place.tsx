import { useState } from 'react';
import { Checkbox, Label, Radio, RadioGroup } from 'react-aria-components';
import { Link, useLocation } from 'wouter';
import type { Measuring } from '../../src/server/places-api.ts';
import { sweepAddress, useMeasuringChanges, useSweep } from '../api/place-queries.ts';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { EarlierMeasurings } from '../places/earlier-measurings.tsx';
import { MicrophoneFile } from '../places/microphone-file.tsx';
import { RecordingPanel } from '../places/recording-panel.tsx';
import { SongToPlay } from '../places/song-to-play.tsx';
import { Box } from '../survive/choices.tsx';
import { sendBytes } from '../uploads/send.ts';
import { figure } from '../words/figures.ts';

/** Lengths of the main sweep that are offered, s: the longer, the more is heard through noise. */
const lengths = [5, 10, 20];

/** Walks one through measuring a place: cautions, the sound to play, the recording. */
export function MeasurePlaceScreen() {
  useTitle('Measure a place');
  const [, go] = useLocation();
  const { begin, remove } = useMeasuringChanges();
  const [how, setHow] = useState<'sweep' | 'song'>('sweep');
  const [seconds, setSeconds] = useState(10);
  const [songVersion, setSongVersion] = useState('');
  const [read, setRead] = useState(false);
  const [microphone, setMicrophone] = useState<{ readonly name: string; readonly text: string } | null>(null);
  const [sending, setSending] = useState<{ readonly share: number; readonly stop: AbortController } | null>(
    null,
  );
  /** Could not be sent; kept, for it cannot always be made again. */
  const [unsent, setUnsent] = useState<File | null>(null);
  const sweep = useSweep(seconds);
  const bySong = how === 'song';

  const take = async (recording: File) => {
    const stop = new AbortController();
    setSending({ share: 0, stop });
    setUnsent(null);
    let begun: Measuring | null = null;
    try {
      begun = await begin.mutateAsync({
        referenceVersionId: bySong ? songVersion : null,
        sweepSeconds: bySong ? null : seconds,
        microphone: microphone?.text ?? null,
      });
      await sendBytes<Measuring>(
        `/places/measurings/${begun.id}/recording?${new URLSearchParams({ name: recording.name })}`,
        recording,
        (sent) => setSending({ share: sent / Math.max(1, recording.size), stop }),
        stop.signal,
      );
      go(`/places/measure/${begun.id}`);
    } catch (error) {
      setSending(null);
      setUnsent(recording);
      if (begun) remove.mutate(begun.id);
      say((error as Error).message);
    }
  };

  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/places">Places</Link> / measure
          </nav>
        </div>
        <div className="body">
          <h1 className="headline">Measure a place of your own</h1>
          <p className="sentence">
            Play a sound there, record it with a phone or a microphone, and bring the recording here. What
            comes out is the response of the place with how sure each band is, and its noise. Nothing leaves
            this machine.
          </p>
          <RadioGroup
            value={how}
            onChange={(value) => setHow(value as typeof how)}
            className="choice-row"
            orientation="horizontal"
          >
            <Label className="choice-title">What plays there</Label>
            <Radio value="sweep" className="check">
              <i className="dot" aria-hidden="true" />
              <span>
                A sweep, <span className="note">the surest way</span>
              </span>
            </Radio>
            <Radio value="song" className="check">
              <i className="dot" aria-hidden="true" />
              <span>
                A song that is on the bench, <span className="note">rougher</span>
              </span>
            </Radio>
          </RadioGroup>
        </div>
      </div>
      <Step number={1} title="First: ears, loudspeakers, cars">
        <Cautions cautions={sweep.data?.cautions} trouble={sweep.error} />
        <Checkbox className="check" isSelected={read} onChange={setRead}>
          <Box /> I have read this, and the volume is turned down
        </Checkbox>
      </Step>
      {bySong ? (
        <Step number={2} title="The song">
          <SongToPlay value={songVersion} onChange={setSongVersion} />
        </Step>
      ) : (
        <Step number={2} title="The sweep">
          <div className="measure-acts">
            <label className="find">
              Length
              <select value={seconds} onChange={(event) => setSeconds(Number(event.target.value))}>
                {lengths.map((length) => (
                  <option key={length} value={length}>
                    {length} s{length === 20 ? ', for noisy places' : length === 5 ? ', for quiet ones' : ''}
                  </option>
                ))}
              </select>
            </label>
            <a
              className="secondary link-button"
              href={`/api/places/sweep.wav?${sweepAddress(seconds)}`}
              download={`sweep ${seconds} s.wav`}
            >
              Download the sweep
            </a>
            {sweep.data && (
              <span className="note num">
                {figure(sweep.data.seconds, 0)} s in all; quiet {figure(sweep.data.quietDbfs, 0)} dBFS, then
                main {figure(sweep.data.mainDbfs, 0)} dBFS
              </span>
            )}
          </div>
          <ol className="steps">
            {sweep.data?.steps.map((step) => (
              <li key={step}>{step}</li>
            ))}
          </ol>
        </Step>
      )}
      <Step number={3} title="The recording">
        <MicrophoneFile name={microphone?.name ?? null} onText={setMicrophone} />
        {sending ? (
          <p className="measure-acts" role="status">
            Taking the recording in, {Math.round(100 * sending.share)} %
            <button type="button" className="plain" onClick={() => sending.stop.abort()}>
              Cancel
            </button>
          </p>
        ) : unsent ? (
          <div className="measure-step">
            <p className="sentence">
              {unsent.name} was not taken in. It is still here: nothing has to be recorded again.
            </p>
            <p className="measure-acts">
              <button type="button" className="primary" onClick={() => void take(unsent)}>
                Send it again
              </button>
              <button type="button" className="plain" onClick={() => setUnsent(null)}>
                Throw it away
              </button>
            </p>
          </div>
        ) : bySong && songVersion === '' ? (
          <p className="sentence">Choose above which song plays there; then it can be recorded.</p>
        ) : (
          <RecordingPanel
            key={how}
            sweep={bySong ? null : (sweep.data ?? null)}
            sweepSeconds={seconds}
            allowed={read}
            onRecording={(file) => void take(file)}
          />
        )}
      </Step>
      <EarlierMeasurings />
    </div>
  );
}

function Step({ number, title, children }: { number: number; title: string; children: React.ReactNode }) {
  return (
    <section className="entry" aria-labelledby={`step-${number}`}>
      <div className="margin" />
      <div className="body measure-step">
        <h2 id={`step-${number}`}>
          {number}. {title}
        </h2>
        {children}
      </div>
    </section>
  );
}

function Cautions({ cautions, trouble }: { cautions: readonly string[] | undefined; trouble: Error | null }) {
  if (!cautions) return <p className="note">{trouble ? trouble.message : 'Reading the cautions…'}</p>;
  return (
    <ul className="cautions">
      {cautions.map((caution) => (
        <li key={caution} className="sentence">
          {caution}
        </li>
      ))}
    </ul>
  );
}
