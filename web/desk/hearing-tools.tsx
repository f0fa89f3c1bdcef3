import { ActButton } from './act-button.tsx';
import type { Hearing } from './desk-player.ts';
import { bandOrder, type Desk } from './use-desk.ts';

export const bandWords: Record<Hearing['band'], string> = {
  all: 'everything',
  low: 'the low end',
  'low-mid': 'the low middle',
  presence: 'the presence',
  air: 'the air',
};

/** Ways of hearing the same sound: each a switch with its key. */
export function HearingTools({ desk }: { desk: Desk }) {
  const { hearing, setHearing, acts } = desk;
  return (
    <section aria-labelledby="ways">
      <h2 id="ways">Ways of hearing</h2>
      <div className="acts">
        <ActButton act="mono" on={hearing.fold === 'mono'} onAct={acts.mono}>
          Mono
        </ActButton>
        <ActButton act="side" on={hearing.fold === 'side'} onAct={acts.side}>
          Side only
        </ActButton>
        <ActButton act="swap" on={hearing.swap} onAct={acts.swap}>
          Swap left and right
        </ActButton>
        <ActButton act="flip" on={hearing.flip} onAct={acts.flip}>
          Polarity of the right
        </ActButton>
        <ActButton act="minus" on={hearing.minus !== null} onAct={acts.minus}>
          Difference
        </ActButton>
        <ActButton act="service" on={hearing.service} onAct={acts.service}>
          As a service would
        </ActButton>
        <fieldset className="bands">
          <legend className="note">
            One band alone{' '}
            <span className="key-cap" aria-hidden="true">
              B
            </span>
          </legend>
          {bandOrder.map((band) => (
            <label key={band}>
              <input
                type="radio"
                name="band"
                checked={hearing.band === band}
                onChange={() => setHearing({ ...hearing, band })}
              />{' '}
              {bandWords[band].replace(/^the /, '')}
            </label>
          ))}
        </fieldset>
        {(hearing.fold !== 'stereo' ||
          hearing.swap ||
          hearing.flip ||
          hearing.minus !== null ||
          hearing.band !== 'all' ||
          hearing.service) && (
          <button
            type="button"
            className="plain"
            onClick={() =>
              setHearing({
                ...hearing,
                fold: 'stereo',
                swap: false,
                flip: false,
                minus: null,
                band: 'all',
                service: false,
              })
            }
          >
            Plain again
          </button>
        )}
      </div>
    </section>
  );
}
