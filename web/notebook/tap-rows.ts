import { type WalkScale, walkScales } from '../../src/places/walk-scales.ts';
import type { WalkTapsNow } from '../../src/places/walk-shapes.ts';
import { make } from '../voter/dom.ts';

/** What each scale is about, and what its ends are called. */
const words: Record<
  WalkScale,
  { readonly name: string; readonly note: string; readonly ends: readonly [string, string] }
> = {
  low: { name: 'Low', note: 'bass, kick', ends: ['too little', 'too much'] },
  lowMid: { name: 'Low-mid', note: 'body, warmth, mud', ends: ['too little', 'too much'] },
  mid: { name: 'Mid', note: 'core of voices and instruments', ends: ['too little', 'too much'] },
  presence: { name: 'Presence', note: 'words, attack, bite', ends: ['too little', 'too much'] },
  air: { name: 'Air', note: 'brilliance, cymbals, breath', ends: ['too little', 'too much'] },
  voice: { name: 'Voice', note: 'the lead against the rest', ends: ['too far back', 'too far in front'] },
  width: { name: 'Width', note: 'how wide it stands', ends: ['too narrow', 'too wide'] },
  loudness: { name: 'Loudness', note: 'against the references', ends: ['too quiet', 'too loud'] },
};

/** Rows of large targets: too little, right, too much. What is tapped again is taken back. */
export function tapRows(
  { scales, words: written }: WalkTapsNow,
  tapped: (what: WalkScale, value: number | null) => void,
  wrote: (text: string) => void,
): HTMLElement {
  const field = make('textarea', {
    rows: 2,
    maxlength: 1000,
    onchange: () => wrote(field.value),
  });
  field.value = written ?? '';
  return make(
    'div',
    { class: 'tap-rows' },
    ...walkScales.map((scale) => row(scale, scales[scale] ?? null, (value) => tapped(scale, value))),
    make('label', { class: 'free-words' }, make('span', {}, 'In your own words'), field),
  );
}

function row(scale: WalkScale, value: number | null, tapped: (value: number | null) => void): HTMLElement {
  const { name, note, ends } = words[scale];
  const choices: readonly (readonly [number, string])[] = [
    [-1, ends[0]],
    [0, 'right'],
    [1, ends[1]],
  ];
  let now = value;
  const fields = choices.map(([choice]) => {
    const input = make('input', {
      type: 'radio',
      name: `tap-${scale}`,
      value: choice,
      onclick: () => take(now === choice ? null : choice),
      onkeydown: (event) => {
        // The space bar clicks no button that is marked already.
        const again = event.key === ' ' && now === choice;
        if (again) event.preventDefault();
        if (again || event.key === 'Delete' || event.key === 'Backspace') take(null);
      },
    });
    input.checked = now !== null && Math.sign(now) === choice;
    return input;
  });
  const take = (choice: number | null) => {
    if (choice === now) return;
    now = choice;
    choices.forEach(([each], i) => {
      fields[i]!.checked = each === choice;
    });
    tapped(choice);
  };
  return make(
    'fieldset',
    { class: 'tap-row' },
    make('legend', {}, make('b', {}, name), ' ', make('span', { class: 'note' }, note)),
    make(
      'div',
      { class: 'taps' },
      ...choices.map(([, label], i) =>
        make('label', { class: 'answer' }, fields[i]!, make('span', {}, label)),
      ),
    ),
  );
}
