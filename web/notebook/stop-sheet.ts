import type { WalkStopNow } from '../../src/places/walk-shapes.ts';
import { make } from '../voter/dom.ts';
import { levelOf, startLevelDb } from '../voter/level.ts';
import { Listening } from '../voter/listening.ts';
import type { Sounds } from '../voter/sounds.ts';
import type { Said } from './note-keeper.ts';
import { tapRows } from './tap-rows.ts';

/** What a sheet needs of the notebook around it. */
interface Around {
  /** The stop with what counts now. */
  now(): WalkStopNow;
  say(said: Said): void;
  leave(): void;
}

/** Kept from place to place. */
let levelDb = startLevelDb;

/** One place: the references, then the song, and what is wrong with each. */
export class StopSheet {
  readonly element: HTMLElement;
  readonly #stopId: string;
  readonly #names: readonly string[];
  readonly #around: Around;
  readonly #listening: Listening;
  readonly #panel = make('section', { class: 'about', 'aria-live': 'polite' });
  readonly #next: HTMLButtonElement;
  #shown = -1;

  /** @param names of the sounds; the song is the last */
  constructor(
    { id, name, trust, references }: WalkStopNow,
    names: readonly string[],
    sounds: Sounds,
    around: Around,
  ) {
    this.#stopId = id;
    this.#names = names;
    this.#around = around;
    sounds.setLevel(levelDb);
    const last = names.length - 1;
    // Who has noted the references here has heard them.
    const first = [...names.keys()].filter(
      (i) => i < last && Object.keys(references[i]?.scales ?? {}).length === 0,
    );
    this.#listening = new Listening(
      sounds,
      names.map((called, i) => ({ name: called, keys: [String(i + 1)], after: i === last ? first : [] })),
      () => this.#follow(),
    );
    this.#listening.element.classList.add('walk-sounds');
    this.#next = make('button', { type: 'button', class: 'primary large', onclick: () => this.#goOn() });
    const percent = () => `${Math.round(100 * Number(field.value))} %`;
    const field = make('input', {
      type: 'range',
      min: 0,
      max: 1,
      step: 0.1,
      value: trust,
      oninput: () => show(),
      onchange: () => around.say({ what: 'trust', stop: id, value: Number(field.value) }),
    });
    const shown = make('output', { class: 'num' });
    const show = () => {
      shown.textContent = percent();
      field.setAttribute('aria-valuetext', percent());
    };
    show();
    this.element = make(
      'div',
      { class: 'round', 'aria-label': name },
      this.#listening.element,
      levelOf(levelDb, (db) => {
        levelDb = db;
        sounds.setLevel(db);
      }),
      this.#panel,
      make('label', { class: 'level' }, make('span', {}, 'I trust this place'), field, shown),
      this.#next,
      make(
        'button',
        { type: 'button', class: 'secondary large', onclick: () => around.leave() },
        'All places',
      ),
      make(
        'details',
        { class: 'keys' },
        make('summary', {}, 'Keys'),
        make(
          'dl',
          {},
          ...[
            [names.map((_, i) => i + 1).join(' '), 'hear a reference, or the song'],
            ['Space', 'play, pause'],
            ['← →', 'too little, right, too much, in the row that has the focus'],
            ['Delete', 'take back'],
            ['Esc', 'all places'],
          ].flatMap(([key, does]) => [make('dt', {}, make('kbd', {}, key!)), make('dd', {}, does!)]),
        ),
      ),
    );
    this.#follow();
  }

  key(event: KeyboardEvent): void {
    const { target, key } = event;
    if (event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
    if (target instanceof HTMLTextAreaElement) return;
    if (key === 'Escape') this.#around.leave();
    else if (key === ' ') {
      if (target instanceof HTMLElement && target.closest('button, summary, input')) return;
      event.preventDefault();
      this.#listening.toggle();
    } else if (this.#listening.key(key)) event.preventDefault();
  }

  close(): void {
    this.#listening.close();
  }

  /** The rows follow what is heard. */
  #follow(): void {
    const { heard } = this.#listening;
    const last = this.#names.length - 1;
    this.#next.textContent =
      heard === last
        ? 'This place is done'
        : `Next: ${heard + 1 === last ? 'the song' : this.#names[heard + 1]}`;
    this.#next.disabled = heard < last && !this.#listening.opens(heard + 1);
    if (heard === this.#shown) return;
    this.#shown = heard;
    const subject = heard === last ? 'song' : heard;
    const now = this.#around.now();
    const taps = subject === 'song' ? now.song : now.references[subject];
    if (!taps) return;
    const stop = this.#stopId;
    this.#panel.replaceChildren(
      make(
        'h2',
        {},
        subject === 'song'
          ? `The song: ${this.#names[heard]}`
          : `Reference ${heard + 1}: ${this.#names[heard]}`,
      ),
      make(
        'p',
        { class: 'note' },
        subject === 'song'
          ? 'What is wrong with it here? Tap again to take back.'
          : 'How does it sound here? What it shares with the song is the place’s fault, not the song’s.',
      ),
      tapRows(
        taps,
        (what, value) => this.#around.say({ what, stop, subject, value }),
        (text) =>
          this.#around.say({ what: 'words', stop, subject, value: text.trim() === '' ? null : text.trim() }),
      ),
    );
  }

  #goOn(): void {
    const { heard } = this.#listening;
    if (heard === this.#names.length - 1) this.#around.leave();
    else {
      this.#listening.hear(heard + 1);
      window.scrollTo(0, 0);
    }
  }
}
