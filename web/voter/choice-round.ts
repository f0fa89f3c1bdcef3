import type { VoterRound } from '../../src/shootout/voter-shapes.ts';
import { make } from './dom.ts';
import { type Called, Listening } from './listening.ts';
import type { OpenRound, RoundView } from './round.ts';
import type { Sounds } from './sounds.ts';

type Answer = 'first' | 'tie' | 'second' | 'a' | 'b';
interface Choice {
  readonly answer: Answer;
  /** On the button. */
  readonly name: string;
  /** Keys that mark it. */
  readonly keys: readonly string[];
  /** Ends 'Your answer: …'. */
  readonly words: string;
  /** The sound that stands for it. */
  readonly sound: number | null;
}

/** Which would one rather keep listening to? */
export const openPreference: OpenRound<Extract<VoterRound, { kind: 'preference' }>> = (
  _round,
  sounds,
  changed,
) =>
  choiceRound(sounds, changed, {
    question: 'Which would you rather keep listening to?',
    called: [
      { name: '1', keys: ['1'] },
      { name: '2', keys: ['2'] },
    ],
    choices: [
      { answer: 'first', name: 'Rather 1', keys: ['ArrowLeft'], words: 'rather 1', sound: 0 },
      { answer: 'tie', name: 'No difference', keys: ['='], words: 'no difference', sound: null },
      { answer: 'second', name: 'Rather 2', keys: ['ArrowRight'], words: 'rather 2', sound: 1 },
    ],
    keys: [
      ['1 2', 'hear one or the other'],
      ['Space', 'play, pause'],
      ['← →', 'rather 1, rather 2'],
      ['=', 'no difference'],
      ['Enter', 'take the one that is heard; once more to send'],
    ],
  });

/** Is X the one or the other? */
export const openAbx: OpenRound<Extract<VoterRound, { kind: 'abx' }>> = (_round, sounds, changed) =>
  choiceRound(sounds, changed, {
    question: 'X is one of the two. Which?',
    called: [
      { name: 'A', keys: ['1', 'a'] },
      { name: 'B', keys: ['2', 'b'] },
      { name: 'X', keys: ['3', 'x'] },
    ],
    choices: [
      { answer: 'a', name: 'X is A', keys: ['ArrowLeft'], words: 'X is A', sound: 0 },
      { answer: 'b', name: 'X is B', keys: ['ArrowRight'], words: 'X is B', sound: 1 },
    ],
    keys: [
      ['1 2 3', 'hear A, B or X'],
      ['Space', 'play, pause'],
      ['← →', 'X is A, X is B'],
      ['Enter', 'send'],
    ],
  });

function choiceRound(
  sounds: Sounds,
  changed: () => void,
  {
    question,
    called,
    choices,
    keys,
  }: {
    readonly question: string;
    readonly called: readonly Called[];
    readonly choices: readonly Choice[];
    readonly keys: RoundView['keys'];
  },
): RoundView {
  let marked: Choice | null = null;
  const listening = new Listening(sounds, called, changed);
  const fields = choices.map((choice) =>
    make('input', { type: 'radio', name: 'answer', onchange: () => mark(choice) }),
  );
  const mark = (choice: Choice) => {
    marked = choice;
    fields[choices.indexOf(choice)]!.checked = true;
    changed();
  };
  return {
    question,
    keys,
    element: make(
      'div',
      { class: 'round' },
      listening.element,
      make(
        'fieldset',
        { class: 'answers' },
        make('legend', {}, 'Your answer'),
        ...choices.map((choice, i) =>
          make('label', { class: 'answer' }, fields[i]!, make('span', {}, choice.name)),
        ),
      ),
    ),
    key(key) {
      if (key === ' ') listening.toggle();
      else if (!listening.key(key)) {
        const choice = choices.find((each) => each.keys.includes(key));
        if (!choice) return false;
        mark(choice);
      }
      return true;
    },
    take() {
      const choice = choices.length === 3 && choices.find(({ sound }) => sound === listening.heard);
      if (choice && !marked && listening.heardAll) mark(choice);
    },
    answer: () => (listening.heardAll ? (marked?.answer ?? null) : null),
    words: () => {
      if (!listening.heardAll)
        return called.length === 2 ? 'Listen to both first.' : 'Listen to all three first.';
      return marked ? `Your answer: ${marked.words}.` : 'Now choose an answer.';
    },
    close: () => listening.close(),
  };
}
