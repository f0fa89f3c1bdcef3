import type { WalkNotebook, WalkStopNow } from '../../src/places/walk-shapes.ts';
import { Refused } from '../voter/booth.ts';
import { make } from '../voter/dom.ts';
import { saveFile } from '../voter/save-file.ts';
import { Excerpts } from './excerpts.ts';
import { Line } from './line.ts';
import { NoteKeeper } from './note-keeper.ts';
import type { Source } from './source.ts';
import { lineWords, placeWords, soundWords } from './status-words.ts';
import { StopSheet } from './stop-sheet.ts';

const fileName = 'everyroom-walk-notes.json';

/** The notebook of a walk: a list of places, and a sheet for each. */
export class NotebookPage {
  readonly #main: HTMLElement;
  readonly #source: Source;
  readonly #excerpts = new Excerpts();
  readonly #status = make('p', { class: 'taken line-state', role: 'status' });
  readonly #place = make('div', { class: 'page' });
  #book: { readonly notebook: WalkNotebook; readonly keeper: NoteKeeper; readonly line: Line } | null = null;
  #sheet: StopSheet | null = null;
  #soundState = make('p', { class: 'note', role: 'status' });

  constructor(main: HTMLElement, source: Source) {
    this.#main = main;
    this.#source = source;
    this.#main.append(this.#place, this.#status);
    document.addEventListener('keydown', (event) => this.#sheet?.key(event));
    window.addEventListener('beforeunload', (event) => {
      if (this.#book && this.#book.keeper.waiting > 0 && !this.#book.keeper.outlasts) event.preventDefault();
    });
  }

  async start(): Promise<void> {
    this.#show('One moment…');
    try {
      const notebook = await this.#source.notebook();
      const keeper = new NoteKeeper(notebook, !this.#source.fromDisk);
      const line = new Line(keeper, this.#source.reach, () => this.#tell());
      this.#book = { notebook, keeper, line };
      this.#tell();
      this.#list();
      await this.#fetch();
    } catch (error) {
      this.#fail(error);
    }
  }

  async #fetch(): Promise<void> {
    if (!this.#book) return;
    const handles = this.#book.notebook.sounds.map(({ sound }) => sound);
    const told = (here: number) => {
      this.#soundState.textContent = soundWords(here, handles.length, this.#source.fromDisk);
    };
    told(0);
    try {
      await this.#excerpts.load(handles, (handle) => this.#source.sound(handle), told);
    } catch (error) {
      const again = make(
        'button',
        { type: 'button', class: 'secondary', onclick: () => void this.#fetch() },
        'Try again',
      );
      this.#soundState.replaceChildren(
        `The sounds did not come through. ${error instanceof Refused ? error.message : 'Is the bench in reach?'} `,
        again,
      );
      return;
    }
    for (const button of this.#place.querySelectorAll<HTMLButtonElement>('.stop-button'))
      button.disabled = false;
  }

  #list(): void {
    const { keeper } = this.#book!;
    const stops = keeper.stops;
    const name = make('input', { maxlength: 80, id: 'new-place', autocomplete: 'off' });
    this.#show(
      keeper.title,
      make(
        'p',
        { class: 'sentence' },
        'In each place: hear the references, then the song, all at the same loudness. Tap what is wrong with each.',
      ),
      make(
        'ul',
        { class: 'hints' },
        make(
          'li',
          {},
          make('b', {}, 'Parked. '),
          'Never while driving: stop, engine off, then listen and tap.',
        ),
        make(
          'li',
          {},
          make('b', {}, 'Start low. '),
          'Turn the place well down, then come up to a level at which you could still talk. Leave it there for all sounds.',
        ),
      ),
      this.#soundState,
      make('ul', { class: 'stops' }, ...stops.map((stop) => make('li', {}, this.#stopButton(stop)))),
      make(
        'form',
        {
          class: 'add-place',
          onsubmit: (event) => {
            event.preventDefault();
            if (name.value.trim() === '') return;
            keeper.addStop(name.value.trim());
            this.#book!.line.noted();
            this.#list();
            this.#tell();
          },
        },
        make('label', { for: 'new-place' }, 'Another place'),
        make(
          'div',
          { class: 'add-line' },
          name,
          make('button', { type: 'submit', class: 'secondary' }, 'Add'),
        ),
      ),
      make(
        'div',
        { class: 'carry' },
        this.#source.fromDisk
          ? null
          : make(
              'a',
              { class: 'secondary', href: `${this.#source.reach[0]}/page.html`, download: true },
              'Take this notebook along as a file',
            ),
        make(
          'button',
          {
            type: 'button',
            class: 'secondary',
            onclick: () => {
              saveFile(keeper.file(), fileName);
              this.#tell(
                `Saved as ${fileName}, where this browser puts downloads. Drop it on the page of the walk at the bench.`,
              );
            },
          },
          'Save my notes as a file',
        ),
      ),
    );
  }

  #stopButton(stop: WalkStopNow): HTMLElement {
    return make(
      'button',
      {
        type: 'button',
        class: 'stop-button',
        disabled: !this.#excerpts.ready,
        onclick: () => {
          this.#excerpts.wake();
          this.#open(stop.id);
        },
      },
      make('span', { class: 'stop-name' }, stop.name),
      make('span', { class: 'note' }, placeWords(stop)),
    );
  }

  #open(stopId: string): void {
    const { keeper, line, notebook } = this.#book!;
    const sounds = this.#excerpts.open();
    const stop = keeper.stops.find(({ id }) => id === stopId);
    if (!sounds || !stop) return;
    const sheet = new StopSheet(
      stop,
      notebook.sounds.map(({ name }) => name),
      sounds,
      {
        now: () => keeper.stops.find(({ id }) => id === stopId) ?? stop,
        say: (said) => {
          keeper.note(said);
          line.noted();
          this.#tell();
        },
        leave: () => this.#list(),
      },
    );
    this.#show(stop.name, sheet.element);
    this.#sheet = sheet;
  }

  /** What is sent and what is not yet. @param first something else to say before it */
  #tell(first = ''): void {
    if (!this.#book) return;
    const text = `${first === '' ? '' : `✓ ${first} `}${lineWords(this.#book.keeper, this.#book.line, this.#source.fromDisk)}`;
    if (this.#status.textContent !== text) this.#status.textContent = text;
    this.#status.dataset.state = this.#book.line.exists ? this.#book.line.state : 'kept';
  }

  #fail(error: unknown): void {
    this.#show(
      error instanceof Refused ? 'This link does not open' : 'That did not work',
      make(
        'p',
        { class: 'sentence' },
        error instanceof Refused
          ? error.message
          : 'The bench cannot be reached from here. Notes that were taken before are still kept in this browser.',
      ),
      make(
        'button',
        { type: 'button', class: 'secondary large', onclick: () => void this.start() },
        'Look again',
      ),
    );
  }

  /** A new sheet, which the reader of a screen begins at its heading. */
  #show(title: string, ...rest: readonly HTMLElement[]): void {
    this.#sheet?.close();
    this.#sheet = null;
    const heading = make('h1', { tabindex: -1 }, title);
    this.#place.replaceChildren(heading, ...rest);
    window.scrollTo(0, 0);
    heading.focus({ preventScroll: true });
  }
}
