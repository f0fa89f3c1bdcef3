import { Link } from 'wouter';
import { figure } from '../words/figures.ts';
import { ActButton } from './act-button.tsx';
import type { Desk } from './use-desk.ts';
import { type LevelChoice, levelIn, ownLevelsDba } from './use-live-place.ts';

const dba = (value: number) => `${figure(value, 0)} dB(A)`;

/** Where all is heard: a place, how loud, with its noise or without; and in words what comes to the ears. */
export function PlacePanel({ desk }: { desk: Desk }) {
  const { live } = desk;
  const { chosen, choice, acts } = live;
  const own = typeof choice.level === 'number';
  const levels: { readonly level: LevelChoice; readonly words: string }[] = [
    { level: 'talk-over', words: `talked over, ${dba(levelIn(chosen, 'talk-over'))}` },
    { level: 'loud', words: `loud, ${dba(levelIn(chosen, 'loud'))}` },
  ];
  return (
    <section className="entry" aria-labelledby="elsewhere">
      <div className="margin">
        <p className="note">
          A model: response, layout and limits of the place, not its every reflection.{' '}
          <Link href={`/places/${chosen.id}`}>Its figures and where they are from</Link>
        </p>
      </div>
      <div className="body place-panel">
        <h2 id="elsewhere">Elsewhere</h2>
        <p className="sentence" role="status" data-live-place={live.on ? live.place.id : ''}>
          {placeWords(desk)}
        </p>
        <div className="transport-row">
          <label className="find">
            Place{' '}
            <select value={chosen.id} onChange={(event) => live.choose(event.target.value)}>
              {live.places.map(({ id, name }) => (
                <option key={id} value={id}>
                  {name}
                </option>
              ))}
            </select>
          </label>
          <ActButton act="next-place" onAct={acts['next-place']}>
            Next
          </ActButton>
          <ActButton act="place" on={live.on} onAct={acts.place}>
            Hear it there
          </ActButton>
          <ActButton act="studio" on={live.on && live.inStudio} onAct={acts.studio}>
            In the good studio instead
          </ActButton>
          <ActButton
            act="place-noise"
            on={choice.noise}
            onAct={acts['place-noise']}
            disabled={chosen.noise === null}
          >
            With its noise{chosen.noise ? `, ${dba(chosen.noise.levelDba)}` : ''}
          </ActButton>
        </div>
        <fieldset className="place-choices">
          <legend className="note">
            Level there{' '}
            <span className="key-cap" aria-hidden="true">
              T
            </span>
          </legend>
          {levels.map(({ level, words }) => (
            <label key={words}>
              <input
                type="radio"
                name="place-level"
                checked={choice.level === level}
                onChange={() => live.setLevel(level)}
              />{' '}
              {words}
            </label>
          ))}
          <label>
            <input
              type="radio"
              name="place-level"
              checked={own}
              onChange={() => live.setLevel(live.levelDba)}
            />{' '}
            my own
          </label>
          {own && (
            <label>
              <span className="hidden">Level of my own, dB(A)</span>
              <input
                type="number"
                min={ownLevelsDba.lowest}
                max={ownLevelsDba.highest}
                step={1}
                value={live.levelDba}
                onChange={(event) => {
                  const level = event.target.valueAsNumber;
                  if (Number.isFinite(level)) live.setLevel(level);
                }}
              />{' '}
              dB(A)
            </label>
          )}
        </fieldset>
        <fieldset className="place-choices">
          <legend className="note">You listen on</legend>
          {(['headphones', 'loudspeakers'] as const).map((equipment) => (
            <label key={equipment}>
              <input
                type="radio"
                name="played-on"
                checked={choice.playedOn === equipment}
                onChange={() => live.setPlayedOn(equipment)}
              />{' '}
              {equipment}
            </label>
          ))}
        </fieldset>
        {live.failed && <p className="note">Your own places could not be fetched: {live.failed.message}</p>}
      </div>
    </section>
  );
}

/** What is heard, and how loud at the ears: what is known of that, and what is assumed. */
function placeWords({ live }: Desk): string {
  if (!live.on) return 'You hear the desk as it is.';
  const { place, levelDba, level, noise, turnedDb, calibrated } = live;
  const there = `You hear it as in: ${place.name}, ${dba(levelDba)} there${
    noise && place.noise ? `, in noise of ${dba(place.noise.levelDba)}` : ''
  }.`;
  const short = levelDba - level.earDba;
  const held =
    short < 0.5
      ? ''
      : noise && place.noise && place.noise.levelDba > levelDba
        ? ` Sound and noise are both ${figure(short, 0)} dB softer than there, so that the noise is no louder than your desk.`
        : ` That is more than your desk plays now, so all is ${figure(short, 0)} dB softer than there; turn up, then choose the level again.`;
  const ear = dba(level.earDba + turnedDb);
  const known = calibrated
    ? ` At your ears: about ${ear}.`
    : ` How loud your desk is here has not been found out: it is taken to play ${dba(level.deskDba)} without a place, and then this is about ${ear}.`;
  return there + held + known;
}
