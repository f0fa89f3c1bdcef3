import { describe, expect, test } from 'vitest';
import { abxNeeded, abxPower } from '../shootout/abx.ts';
import { makeRounds } from '../shootout/make-rounds.ts';
import { powerOf } from '../shootout/power.ts';
import { shootoutResults } from '../shootout/results.ts';
import type { Round, Shootout, Vote } from '../shootout/shootout-shapes.ts';
import { SeededRandom } from '../signal/seeded-random.ts';
import { abxPowerSentence, listenerSentence, powerSentence, shootoutSentences } from './shootout-words.ts';

const makers: Record<string, string> = { e0: 'Ada', e1: 'Ben', e2: 'Cleo', e3: 'Dot' };
const base = {
  question: 'taste',
  seed: 'a seed of the test itself',
  sections: [{ startSeconds: 10, endSeconds: 22 }],
  entries: Object.keys(makers).map((id) => ({ id, versionId: `v${id}`, maker: makers[id], notes: [] })),
} as const;

function sayFor(
  kind: Shootout['kind'],
  listeners: number,
  answerOf: (round: Round, listener: number) => Vote['answer'] | null,
  question: Shootout['question'] = 'taste',
  most = 14,
): string {
  const shootout = { ...base, kind, question, sections: [...base.sections], entries: [...base.entries] };
  const people = makeRounds(shootout, { listeners, rounds: kind === 'abx' ? 16 : most }).map((each, i) => ({
    id: `l${i}`,
    ...each,
  }));
  const votes = people.flatMap((person, l) =>
    person.rounds.flatMap((round): Vote[] => {
      const answer = answerOf(round, l);
      return answer === null ? [] : [{ listenerId: person.id, roundId: round.id, answer, answeredAt: '' }];
    }),
  );
  const results = shootoutResults(shootout, people, votes);
  return shootoutSentences(
    results,
    (id) => makers[id],
    (id) => `listener ${id}`,
  ).join('\n');
}

/** Prefers by worth, with a chance of a slip. */
function voter(worth: Record<string, number>, seed: string) {
  const random = new SeededRandom(seed);
  return (round: Round): Vote['answer'] | null => {
    if (round.kind !== 'preference') return null;
    const d = worth[round.firstId] - worth[round.secondId];
    return random.unit() < 1 / (1 + Math.exp(-d)) ? 'first' : 'second';
  };
}

describe('preference', () => {
  test('equals: nobody is crowned', () => {
    const text = sayFor('preference', 4, voter({ e0: 0, e1: 0, e2: 0, e3: 0 }, 'equal'));
    expect(text).toMatch(/^No winner: 56 votes of four listeners do not tell these masters apart\./);
    expect(text).not.toMatch(/wins/);
  });

  test('a clear best: its name, by how much, and for whom', () => {
    const text = sayFor('preference', 8, voter({ e0: 0, e1: 2.5, e2: 0, e3: 0 }, 'clear'));
    expect(text).toMatch(
      /^Ben wins, by 112 votes of eight listeners\. Against \w+, the next best, it gets \d+ % of the deciding votes \(\d+ % to (\d+ %|nearly all)\)\./,
    );
    expect(text).toContain('listeners like these in general');
    expect(text).toMatch(/Of 16 repeated pairs \d+ got the same answer and \d+ the opposite one\./);
    expect(text).toMatch(/Of \d+ sets of three that a listener put in order, \d+ went in a circle/);
  });

  test('two best: ahead is not enough', () => {
    const text = sayFor('preference', 6, voter({ e0: 2, e1: 2, e2: -1, e3: -1 }, 'two'));
    expect(text).toMatch(/^No winner: (Ada|Ben) is ahead, but not clearly of (Ada|Ben)\./);
    expect(text).toContain('They are not all equal, though.');
  });

  test('one listener: it says nothing of others; always winning has no figure', () => {
    const text = sayFor('preference', 1, (round) =>
      round.kind !== 'preference'
        ? null
        : round.firstId === 'e2'
          ? 'first'
          : round.secondId === 'e2'
            ? 'second'
            : 'tie',
    );
    expect(text).toMatch(
      /^Cleo wins, by 14 votes of one listener\. Against \w+, the next best, it gets nearly all of the deciding votes\.$/m,
    );
    expect(text).toContain('of others it says nothing');
    expect(text).toContain('half a vote was added');
  });

  test('one who answers the first each time is set aside, in a second sentence', () => {
    const steady = voter({ e0: 0, e1: 4, e2: 0, e3: -3 }, 'steady');
    const text = sayFor(
      'preference',
      4,
      (round, listener) => (listener === 3 ? 'first' : steady(round)),
      'taste',
      24,
    );
    expect(text).toMatch(
      /Listener l3 gave the same answer to 0 of (\d) repeated pairs and the opposite one to \1.*no better than chance\.\nWithout listener l3: Ben wins, by 72 votes of three listeners/,
    );
  });

  test('no votes', () => {
    expect(sayFor('preference', 2, () => null)).toBe('Nobody has voted yet.');
  });
});

test('ratings name the highest, and who was set aside', () => {
  const worth: Record<string, number> = {
    e0: 55,
    e1: 58,
    e2: 80,
    e3: 54,
    reference: 98,
    'mid-anchor': 40,
    'low-anchor': 20,
  };
  const random = new SeededRandom('ratings');
  const text = sayFor(
    'rating',
    6,
    (round, listener) =>
      round.kind !== 'rating'
        ? null
        : round.order.map((name) =>
            Math.max(
              0,
              Math.min(
                100,
                worth[name] +
                  (name === 'reference' ? 0 : 4 * random.normal()) -
                  (listener === 5 && name === 'reference' ? 40 : 0),
              ),
            ),
          ),
    'damage',
  );
  expect(text).toMatch(/^Cleo is rated highest\. Mean ratings by six listeners, of 100: Cleo 8\d/);
  expect(text).toMatch(/Without listener l5: Cleo is rated highest\. Mean ratings by five listeners/);
});

test('ABX: heard, not shown, and not told before the end', () => {
  const right = (n: number) => {
    let asked = 0;
    return (round: Round): Vote['answer'] | null => {
      if (round.kind !== 'abx') return null;
      return asked++ < n ? round.x : round.x === 'a' ? 'b' : 'a';
    };
  };
  expect(sayFor('abx', 1, right(12))).toBe(
    'Listener l0 was right in 12 of 16 trials: the difference is heard (guessing gets that far in 3.8 % of tests).',
  );
  expect(sayFor('abx', 1, right(11))).toContain('12 were needed: the difference is not shown to be heard');
  let n = 0;
  expect(sayFor('abx', 1, () => (n++ < 5 ? 'a' : null))).toBe(
    'Listener l0 has answered 5 of 16 trials; the result is told after the last.',
  );
});

test('power in words', () => {
  const rounds = makeRounds(
    { ...base, kind: 'preference', sections: [...base.sections], entries: [...base.entries] },
    { listeners: 5, rounds: 12 },
  );
  const index = (id: string) => Number(id.slice(1));
  const schedule = rounds.map((each) =>
    each.rounds.flatMap((round) =>
      round.kind === 'preference'
        ? [{ first: index(round.firstId), second: index(round.secondId), section: 0, repeats: null }]
        : [],
    ),
  );
  expect(powerSentence(powerOf(schedule, 4), 5)).toMatch(
    /^With five listeners and 60 votes in all you can tell apart differences of about [12]\.\d in log-strength: a best master that gets \d\d % of the deciding votes against each other one is found in 80 % of shoot-outs\.$/,
  );
  expect(powerSentence(powerOf([schedule[0].slice(0, 3)], 4), 1)).toContain('more rounds or more listeners');
  expect(abxPowerSentence(16, abxNeeded(16), 0.8, abxPower(16, 0.8))).toBe(
    '12 of 16 right count as heard. Someone who hears it in so far as to be right in 80 % of trials gets there in 80 % of tests.',
  );
  expect(abxPowerSentence(4, abxNeeded(4), 0.8, 0)).toBe(
    'Four trials can prove nothing: at least five are needed.',
  );
});

test('one listener in a sentence', () => {
  const triads = { decided: 0, circular: 0, consistence: null, chance: null };
  const repeats = { asked: 0, same: 0, turned: 0, chance: null };
  const say = (more: object) =>
    listenerSentence(
      { listenerId: 'x', votes: 2, triads, repeats, setAside: null, ...more },
      () => 'the host',
    );
  expect(say({})).toBe('The host gave two answers, too few to tell how consistently.');
  expect(say({ triads: { ...triads, decided: 4, circular: 1 } })).toBe(
    'The host went in a circle in 1 of 4 sets of three.',
  );
});
