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
  /** For those who cannot see the button. */
  readonly label?: string;
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
  #last = performance.now();

  /** @param changed something else is heard, or enough of everything now */
  constructor(sounds: Sounds, called: readonly Called[], changed: () => void) {
    this.#sounds = sounds;
    this.#called = called;
    this.#changed = changed;
    this.#heard = called.map(() => 0);
    this.#buttons = called.map(({ name, label }, i) =>
      make(
        'button',
        {
          type: 'button',
          class: 'sound',
          'aria-label': label ?? `Hear ${name}`,
          'aria-pressed': 'false',
          onclick: () => this.hear(i),
        },
        make('span', { class: 'sound-name' }, name),
        make('span', { class: 'sound-mark', 'aria-hidden': 'true' }),
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
    return this.#heard.every((seconds) => seconds >= leastHeardSeconds);
  }

  get heard(): number {
    return this.#sounds.heard;
  }

  hear(index: number): void {
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

  #tick(): void {
    const now = performance.now();
    const passed = (now - this.#last) / 1000;
    this.#last = now;
    this.#place.style.width = `${(100 * this.#sounds.position()) / this.#sounds.seconds}%`;
    if (!this.#sounds.playing) return;
    const before = this.heardAll;
    this.#heard[this.#sounds.heard]! += passed;
    this.#show();
    if (this.heardAll !== before) this.#changed();
  }

  #show(): void {
    const { playing, heard } = this.#sounds;
    this.#buttons.forEach((button, i) => {
      button.setAttribute('aria-pressed', String(playing && i === heard));
      const mark =
        playing && i === heard
          ? '▶ heard now'
          : this.#heard[i]! >= leastHeardSeconds
            ? 'heard'
            : 'not heard yet';
      button.dataset.heard = this.#heard[i]! >= leastHeardSeconds ? 'yes' : 'no';
      const shown = button.lastElementChild!;
      if (shown.textContent !== mark) shown.textContent = mark;
    });
    this.#playButton.textContent = playing ? 'Pause' : 'Play';
  }
}
