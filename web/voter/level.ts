import { make } from './dom.ts';

/** Where the level starts, and how far down it goes, dB. */
export const startLevelDb = -20;
const lowestLevelDb = -40;

/** A slider for the level of all sounds. */
export function levelOf(levelDb: number, changed: (db: number) => void): HTMLElement {
  let now = levelDb;
  const words = () => `${now === 0 ? '' : '−'}${Math.abs(now)} dB`;
  const shown = make('output', { class: 'num' }, words());
  const field = make('input', {
    type: 'range',
    min: lowestLevelDb,
    max: 0,
    step: 1,
    value: now,
    'aria-valuetext': words(),
    oninput: () => {
      now = Number(field.value);
      field.setAttribute('aria-valuetext', words());
      shown.textContent = words();
      changed(now);
    },
  });
  return make('label', { class: 'level' }, make('span', {}, 'Level of all'), field, shown);
}
