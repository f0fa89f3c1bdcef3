import type { VoterRound } from '../../src/shootout/voter-shapes.ts';
import { make } from './dom.ts';
import { type Called, Listening } from './listening.ts';
import type { OpenRound } from './round.ts';

/** Words of the five equal parts of the scale, from 0 up (ITU-R BS.1534-3, continuous quality scale). */
const qualityWords = ['bad', 'poor', 'fair', 'good', 'excellent'];

/** How good is each, from 0 to 100? */
export const openRating: OpenRound<Extract<VoterRound, { kind: 'rating' }>> = (
  round,
  sounds,
  changed,
  question,
) => {
  const { reference } = round;
  const called: Called[] = [
    ...(reference ? [{ name: 'Reference', keys: ['0', 'r'] }] : []),
    ...round.sounds.map(({ letter }, i) => ({ name: letter, keys: i < 9 ? [String(i + 1)] : [] })),
  ];
  const first = reference ? 1 : 0;
  const scores: (number | null)[] = round.sounds.map(() => null);
  const listening = new Listening(sounds, called, () => changed());
  const rows = round.sounds.map(({ letter }, i) => {
    const shown = make('output', { class: 'score' }, '–');
    const take = () => {
      scores[i] = Number(field.value);
      shown.textContent = field.value;
      field.removeAttribute('data-unset');
      changed();
    };
    const field = make('input', {
      type: 'range',
      min: 0,
      max: 100,
      step: 1,
      value: 50,
      'aria-label': `How good is ${letter}`,
      'data-unset': true,
      oninput: take,
      // A score of 50 is given by a click on the middle, which moves nothing.
      onpointerup: take,
      onfocus: () => {
        if (listening.heard !== first + i) listening.hear(first + i);
      },
    });
    const row = make('div', { class: 'rating-row' }, make('b', {}, letter), field, shown);
    return { row, field };
  });
  return {
    question:
      question === 'damage'
        ? 'How close is each to the reference?'
        : 'How gladly would you keep listening to each?',
    keys: [
      [reference ? '0 1 2 …' : '1 2 …', 'hear a sound and come to its scale'],
      ['← →', 'lower, higher'],
      ['Space', 'play, pause'],
      ['Enter', 'send'],
    ],
    element: make(
      'div',
      { class: 'round' },
      listening.element,
      make(
        'fieldset',
        { class: 'ratings' },
        make('legend', {}, 'Your scores, 0 to 100'),
        make(
          'div',
          { class: 'scale', 'aria-hidden': 'true' },
          ...(question === 'damage' ? qualityWords : ['not at all', 'so-so', 'very gladly']).map((word) =>
            make('span', {}, word),
          ),
        ),
        ...rows.map(({ row }) => row),
      ),
    ),
    key(key) {
      if (key === ' ') listening.toggle();
      else if (!listening.key(key)) return false;
      else rows[listening.heard - first]?.field.focus();
      return true;
    },
    take: () => {},
    answer: () => (listening.heardAll && scores.every((score) => score !== null) ? scores.map(Number) : null),
    words: () => {
      if (!listening.heardAll) return 'Listen to all of them first.';
      const missing = round.sounds.filter((_, i) => scores[i] === null).map(({ letter }) => letter);
      return missing.length > 0 ? `Without a score: ${missing.join(', ')}.` : 'Every sound has its score.';
    },
    close: () => listening.close(),
  };
};
