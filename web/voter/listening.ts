import { make } from './dom.ts';
import type { Sounds } from './sounds.ts';

/** Each sound must have been heard this long before an answer counts, s (heuristic). */
const leastHeardSeconds = 0.5;
const tickMilliseconds = 100;

/** What a round calls one of its sounds. */
export interface Called {
  /** On the button. */
  readonly name: string;
  /** Keys that let it be heard. */
  readonly keys: readonly string[];
  /** Others that must have been heard before it can be. */
  readonly after?: readonly number[];
}

/** Buttons that let sounds be heard, and what was heard of each. */
export class Listening {
  readonly element: HTMLElement;
  readonly #sounds: Sounds;
  readonly #called: readonly Called[];
  readonly #buttons: readonly HTMLButtonElement[];
  readonly #playButton: HTMLButtonElement;
  readonly #place: HTMLElement;
  readonly #heard: number[];
  readonly #changed: () => void;
  readonly #timer: ReturnType<typeof setInterval>;
  #last = { at: performance.now(), position: 0 };

  /** @param changed something else is heard, or enough of everything now */
  constructor(sounds: Sounds, called: readonly Called[], changed: () => void) {
    this.#sounds = sounds;
    this.#called = called;
    this.#changed = changed;
    this.#heard = called.map(() => 0);
    this.#buttons = called.map(({ name }, i) =>
      make(
        'button',
        {
          type: 'button',
          class: 'sound',
          'aria-pressed': 'false',
          onclick: () => this.hear(i),
        },
        make('span', { class: 'hidden' }, 'Hear '),
        make('span', { class: 'sound-name' }, name),
        make('span', { class: 'sound-mark' }),
      ),
    );
    this.#playButton = make(
      'button',
      { type: 'button', class: 'secondary play', onclick: () => this.toggle() },
      'Play',
    );
    this.#place = make('div');
    this.element = make(
      'div',
      { class: 'listening' },
      make(
        'div',
        { class: called.length > 3 ? 'sounds many' : 'sounds', role: 'group', 'aria-label': 'Sounds' },
        ...this.#buttons,
      ),
      make('div', { class: 'place', 'aria-hidden': 'true' }, this.#place),
      make('div', { class: 'transport' }, this.#playButton),
    );
    this.#timer = setInterval(() => this.#tick(), tickMilliseconds);
    this.#show();
  }

  get heardAll(): boolean {
    return this.#heard.every((_, i) => this.#isHeard(i));
  }

  get heard(): number {
    return this.#sounds.heard;
  }

  /** Whether it may be heard yet. */
  opens(index: number): boolean {
    return (this.#called[index]?.after ?? []).every((other) => this.#isHeard(other));
  }

  hear(index: number): void {
    if (!this.opens(index)) return;
    this.#count();
    this.#sounds.hear(index);
    this.#sounds.play();
    this.#show();
    this.#changed();
  }

  toggle(): void {
    if (this.#sounds.playing) this.#sounds.pause();
    else this.#sounds.play();
    this.#show();
  }

  /** True when the key belongs to one of the sounds. */
  key(key: string): boolean {
    const index = this.#called.findIndex(({ keys }) => keys.includes(key.toLowerCase()));
    if (index < 0) return false;
    this.hear(index);
    return true;
  }

  close(): void {
    clearInterval(this.#timer);
    this.#sounds.close();
  }

  #isHeard(index: number): boolean {
    return this.#heard[index]! >= leastHeardSeconds;
  }

  #tick(): void {
    const heard = () => this.#heard.filter((_, i) => this.#isHeard(i)).length;
    const before = heard();
    this.#count();
    this.#place.style.width = `${(100 * this.#last.position) / this.#sounds.seconds}%`;
    this.#show();
    if (heard() !== before) this.#changed();
  }

  /** Adds what has passed to what is heard, if it really sounds: a browser may hold back a sound that nobody asked for. */
  #count(): void {
    const { at, position } = this.#last;
    this.#last = { at: performance.now(), position: this.#sounds.position() };
    if (this.#sounds.playing && this.#last.position !== position)
      this.#heard[this.#sounds.heard]! += (this.#last.at - at) / 1000;
  }

  #show(): void {
    const { playing, heard } = this.#sounds;
    this.#buttons.forEach((button, i) => {
      button.setAttribute('aria-pressed', String(playing && i === heard));
      const mark =
        playing && i === heard
          ? '▶ now'
          : this.#isHeard(i)
            ? 'heard'
            : this.opens(i)
              ? 'not heard yet'
              : 'after the others';
      button.disabled = !this.opens(i);
      button.dataset.heard = this.#isHeard(i) ? 'yes' : 'no';
      const shown = button.lastElementChild!;
      if (shown.textContent !== mark) shown.textContent = mark;
    });
    this.#playButton.textContent = playing ? 'Pause' : 'Play';
  }
}
