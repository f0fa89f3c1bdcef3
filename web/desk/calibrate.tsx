import { useEffect, useId, useState } from 'react';
import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import type { LevelPatch } from '../../src/server/desk-api.ts';
import { useLevelChanges } from '../api/desk-queries.ts';
import type { Desk } from './use-desk.ts';

type Heard = NonNullable<LevelPatch['heard']>;
type Voice = Extract<Heard, { by: 'talk' }>['voice'];

/** Loudness of the player's pink noise (−20 dBFS RMS in both channels, 8 Hz to half the rate), LUFS: measured with the project's own meter at 48 kHz. */
const noiseLufs = -17.0;

const voices: readonly { voice: Voice; words: string }[] = [
  { voice: 'normal', words: 'I talk as at a table, and am understood' },
  { voice: 'raised', words: 'I have to raise my voice' },
  { voice: 'loud', words: 'I have to speak up hard' },
  { voice: 'shouting', words: 'I have to shout' },
];

/** Finds out how loud the desk is at the ear: noise, then a meter's reading or the listener's own voice. */
export function Calibrate({ desk, onClose }: { desk: Desk; onClose: () => void }) {
  const { player } = desk;
  const { patchLevel } = useLevelChanges();
  const [noise, setNoise] = useState(false);
  const [by, setBy] = useState<'meter' | 'talk'>('meter');
  const [reading, setReading] = useState('');
  const [voice, setVoice] = useState<Voice | null>(null);
  const fieldId = useId();

  useEffect(() => {
    if (noise) player.pause();
    player.setNoise(noise);
    return () => player.setNoise(false);
  }, [player, noise]);

  const splDb = Number(reading.replace(',', '.'));
  const readable = reading.trim() !== '' && splDb >= 30 && splDb <= 120;
  const keep = () => {
    const heard: Heard | null =
      by === 'meter' ? (readable ? { by, splDb, noiseLufs } : null) : voice ? { by, voice, noiseLufs } : null;
    if (heard) patchLevel.mutate({ heard }, { onSuccess: onClose });
  };

  return (
    <ModalOverlay isOpen onOpenChange={(open) => !open && onClose()} className="overlay">
      <Modal className="modal wide-modal">
        <Dialog className="dialog">
          <Heading slot="title">How loud is it where you sit?</Heading>
          <ol className="steps">
            <li>Turn the amplifier or headphones well down.</li>
            <li>
              Start the noise. It begins silent and comes up over three seconds; “your level” has no part in
              it.{' '}
              <button
                type="button"
                className="secondary"
                aria-pressed={noise}
                onClick={() => setNoise(!noise)}
              >
                {noise ? 'Stop the noise' : 'Start the noise'}
              </button>
            </li>
            <li>
              Bring the amplifier up, slowly, to a level at which you could listen for long, and leave it
              there from now on.
            </li>
            <li>
              <fieldset className="calibrate-by">
                <legend>Say how loud it is</legend>
                <label>
                  <input type="radio" name="by" checked={by === 'meter'} onChange={() => setBy('meter')} /> by
                  a sound level meter, or a phone that shows dBA
                </label>
                <label>
                  <input type="radio" name="by" checked={by === 'talk'} onChange={() => setBy('talk')} /> by
                  talking over it
                </label>
              </fieldset>
              {by === 'meter' ? (
                <p>
                  <label htmlFor={fieldId}>
                    Hold it where your head is, wait ten seconds, and write what it shows:{' '}
                  </label>
                  <input
                    id={fieldId}
                    className="reading num"
                    inputMode="decimal"
                    value={reading}
                    aria-invalid={reading !== '' && !readable}
                    onChange={(event) => setReading(event.target.value)}
                  />{' '}
                  dBA
                  {reading !== '' && !readable && <span className="note"> A figure from 30 to 120.</span>}
                </p>
              ) : (
                <fieldset className="calibrate-by">
                  <legend>Talk to someone an arm’s length away, or read this line aloud</legend>
                  {voices.map((each) => (
                    <label key={each.voice}>
                      <input
                        type="radio"
                        name="voice"
                        checked={voice === each.voice}
                        onChange={() => setVoice(each.voice)}
                      />{' '}
                      {each.words}
                    </label>
                  ))}
                </fieldset>
              )}
            </li>
          </ol>
          <p className="note">
            Either is rough: phones are a few decibels off, voices more. With headphones only the voice helps.
          </p>
          {patchLevel.isError && <p className="sentence">{patchLevel.error.message}</p>}
          <div className="dialog-acts">
            <Button
              className="primary"
              isDisabled={patchLevel.isPending || (by === 'meter' ? !readable : voice === null)}
              onPress={keep}
            >
              Keep it
            </Button>
            <Button slot="close" className="secondary">
              Leave it
            </Button>
          </div>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
