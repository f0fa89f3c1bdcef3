import type { VoterRound, VoterSession } from '../../src/shootout/voter-shapes.ts';
import { type Booth, Refused } from './booth.ts';
import { openAbx, openPreference } from './choice-round.ts';
import { make } from './dom.ts';
import { levelOf, startLevelDb } from './level.ts';
import { openRating } from './rating-round.ts';
import { handlesOf, type RoundView } from './round.ts';
import { saveFile } from './save-file.ts';
import type { Sounds } from './sounds.ts';

const fileName = 'everyroom-votes.json';

const minutes = (seconds: number) => {
  const about = Math.max(1, Math.round(seconds / 60));
  return about === 1 ? 'about a minute' : `about ${about} minutes`;
};

/** The page of one voter, from the first word to the last. */
export class VoterPage {
  readonly #main: HTMLElement;
  readonly #booth: Booth;
  readonly #trouble = make('p', { class: 'trouble', role: 'status' });
  readonly #taken = make('p', { class: 'taken', role: 'status' });
  readonly #place = make('div', { class: 'page' });
  #round: RoundView | null = null;
  #send: (() => void) | null = null;
  #levelDb = startLevelDb;

  /** @param booth is told how to show what stands between it and the server */
  constructor(main: HTMLElement, booth: (tell: (trouble: string | null) => void) => Booth) {
    this.#main = main;
    this.#booth = booth((trouble) => {
      if (this.#trouble.textContent !== (trouble ?? '')) this.#trouble.textContent = trouble ?? '';
    });
    this.#main.append(this.#trouble, this.#place);
    document.addEventListener('keydown', (event) => this.#key(event));
    // A click with the pointer leaves the keys to the round, not to what was clicked.
    document.addEventListener('click', (event) => {
      if (event.detail > 0 && document.activeElement instanceof HTMLButtonElement)
        document.activeElement.blur();
    });
  }

  async start(): Promise<void> {
    this.#show('One moment…');
    await this.#try(async () => {
      const session = await this.#booth.open();
      if (session.next) this.#welcome(session);
      else this.#end(session);
    });
  }

  #welcome(session: VoterSession): void {
    const { kind, rounds, answered, secondsLeft } = session;
    const left = rounds - answered;
    const asked =
      kind === 'preference'
        ? 'Each time you hear two sounds and say which you would rather keep listening to.'
        : kind === 'abx'
          ? 'Each time you hear A, B and X. X is one of the two; say which. When in doubt, guess.'
          : 'Each time you hear some sounds and give each a score from 0 to 100.';
    this.#show(
      answered > 0 ? 'Welcome back' : 'A blind listening',
      make(
        'p',
        { class: 'sentence' },
        answered > 0 ? `Your first ${answered} of ${rounds} answers are kept. ` : '',
        `${asked} ${left === 1 ? 'One round' : `${left} rounds`}, ${minutes(secondsLeft)}. There is no right or wrong${kind === 'abx' ? ' to be afraid of' : ''}.`,
      ),
      make(
        'ul',
        { class: 'hints' },
        make(
          'li',
          {},
          make('b', {}, 'Start low. '),
          'Turn your headphones or loudspeakers well down, then come up slowly to a level at which you could still talk.',
        ),
        make(
          'li',
          {},
          make('b', {}, 'Headphones '),
          'or good loudspeakers in a quiet room. Keep to the same until the end.',
        ),
        make(
          'li',
          {},
          make('b', {}, 'Take breaks. '),
          'You may leave and come back; what you answered stays.',
        ),
      ),
      make(
        'button',
        {
          type: 'button',
          class: 'primary large',
          onclick: () => {
            this.#booth.wake();
            void this.#next(session);
          },
        },
        answered > 0 ? 'It is turned down: go on' : 'It is turned down: begin',
      ),
    );
  }

  async #next(session: VoterSession): Promise<void> {
    const { next } = session;
    if (!next) {
      this.#end(session);
      return;
    }
    this.#show(`Round ${next.number} of ${next.of}`, make('p', { class: 'note' }, 'Fetching the sounds…'));
    await this.#try(async () => this.#ask(session, next, await this.#booth.sounds(handlesOf(next))));
  }

  #ask({ question }: VoterSession, next: VoterRound, sounds: Sounds): void {
    sounds.setLevel(this.#levelDb);
    const words = make('p', { class: 'note', role: 'status' });
    const sendButton = make(
      'button',
      { type: 'button', class: 'primary large send', onclick: () => this.#send?.() },
      'Send the answer',
    );
    let sending = false;
    const changed = () => {
      if (words.textContent !== view.words()) words.textContent = view.words();
      sendButton.disabled = sending || view.answer() === null;
    };
    const view = openView(next, sounds, () => changed(), question);
    changed();
    this.#send = () => {
      const answer = view.answer();
      if (answer === null || sending) return;
      sending = true;
      sendButton.textContent = 'Sending…';
      changed();
      void this.#try(async () => {
        const session = await this.#booth.answer({ round: next.round, answer });
        this.#taken.textContent = `✓ Answer ${next.number} of ${next.of} is taken in.`;
        await this.#next(session);
      });
    };
    this.#show(
      view.question,
      make(
        'div',
        { class: 'progress-line' },
        make('p', { class: 'num' }, `Round ${next.number} of ${next.of}`),
        make('div', { class: 'progress-bar', 'aria-hidden': 'true' }, bar((next.number - 1) / next.of)),
      ),
      view.element,
      make('div', { class: 'sending' }, words, sendButton),
      levelOf(this.#levelDb, (db) => {
        this.#levelDb = db;
        sounds.setLevel(db);
      }),
      make(
        'details',
        { class: 'keys' },
        make('summary', {}, 'Keys'),
        make(
          'dl',
          {},
          ...view.keys.flatMap(([key, does]) => [make('dt', {}, make('kbd', {}, key)), make('dd', {}, does)]),
        ),
      ),
    );
    this.#round = view;
  }

  #end(session: VoterSession): void {
    this.#taken.textContent = '';
    if (session.state === 'closed') {
      this.#show(
        'Voting is over',
        make('p', { class: 'sentence' }, 'There is nothing more to do here. Thank you for listening.'),
      );
      return;
    }
    const { voteFile } = this.#booth;
    if (voteFile) {
      this.#show(
        'That was all. One thing is left',
        make(
          'p',
          { class: 'sentence' },
          `All ${session.rounds} answers are here in this browser and nowhere else. Save them as a file and send that back to whoever gave you this folder.`,
        ),
        make(
          'button',
          { type: 'button', class: 'primary large', onclick: () => this.#save(voteFile()) },
          'Save my answers as a file',
        ),
        this.#taken,
      );
      return;
    }
    this.#show(
      'That was all. Thank you',
      make(
        'p',
        { class: 'sentence' },
        `All ${session.rounds} answers are taken in. You can close this page.`,
      ),
    );
  }

  #save(file: Blob): void {
    saveFile(file, fileName);
    this.#taken.textContent = `✓ Saved as ${fileName}, where this browser puts downloads. Send it back as it is.`;
  }

  async #try(work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } catch (error) {
      this.#fail(error);
    }
  }

  #fail(error: unknown): void {
    const refused = error instanceof Refused;
    const again = make(
      'button',
      { type: 'button', class: 'secondary large', onclick: () => void this.start() },
      'Look again',
    );
    this.#show(
      refused && error.code === 'VOTER_REFUSED' ? 'This link does not open' : 'That did not work',
      make('p', { class: 'sentence' }, error instanceof Error ? error.message : String(error)),
      again,
    );
  }

  /** A new sheet, which the reader of a screen begins at its heading. */
  #show(title: string, ...rest: readonly HTMLElement[]): void {
    this.#round?.close();
    this.#round = null;
    const heading = make('h1', { tabindex: -1 }, title);
    this.#place.replaceChildren(this.#taken, heading, ...rest);
    window.scrollTo(0, 0);
    heading.focus({ preventScroll: true });
  }

  #key(event: KeyboardEvent): void {
    const round = this.#round;
    if (!round || event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
    const { target, key } = event;
    const onButton =
      target instanceof HTMLButtonElement || (target instanceof HTMLElement && target.tagName === 'SUMMARY');
    const onRange = target instanceof HTMLInputElement && target.type === 'range';
    if (onButton && (key === ' ' || key === 'Enter')) return;
    if (onRange && key.startsWith('Arrow')) return;
    if (key === 'Enter') {
      event.preventDefault();
      if (round.answer() === null) round.take();
      else this.#send?.();
    } else if (round.key(key)) event.preventDefault();
  }
}

function openView(
  round: VoterRound,
  sounds: Sounds,
  changed: () => void,
  question: VoterSession['question'],
): RoundView {
  if (round.kind === 'preference') return openPreference(round, sounds, changed, question);
  if (round.kind === 'abx') return openAbx(round, sounds, changed, question);
  return openRating(round, sounds, changed, question);
}

function bar(share: number): HTMLElement {
  const element = make('div');
  element.style.width = `${100 * share}%`;
  return element;
}
