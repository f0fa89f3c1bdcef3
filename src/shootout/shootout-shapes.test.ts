import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { SeededRandom } from '../signal/seeded-random.ts';
import { makeRounds, sessionLength } from './make-rounds.ts';
import { shootoutResults } from './results.ts';
import {
  listenerSchema,
  resultsSchema,
  type Shootout,
  shootoutSchema,
  type Vote,
  voteSchema,
} from './shootout-shapes.ts';
import {
  handle,
  voterAnswerSchema,
  voterRound,
  voterRoundSchema,
  voterSessionSchema,
} from './voter-shapes.ts';

const shootout: Shootout = {
  id: 'shootout-of-the-test',
  songId: 'song-of-the-test',
  mixVersionId: 'mix-of-the-test',
  title: 'Which of the four',
  kind: 'preference',
  question: 'damage',
  seed: 'the seed that nobody may know',
  state: 'open',
  sections: [
    { startSeconds: 3, endSeconds: 15 },
    { startSeconds: 40, endSeconds: 52 },
  ],
  entries: ['Ada', 'Ben', 'Cleo', 'Dot'].map((maker) => ({
    id: `entry-${maker}`,
    versionId: `version-${maker}`,
    maker,
    notes: ['It is upside down.'],
  })),
  createdAt: '2025-01-01T00:00:00.000Z',
  revealedAt: null,
};

function handles(seed: string) {
  const random = new SeededRandom(seed);
  const letters = 'abcdefghijklmnopqrstuvwxyz234567';
  return () => Array.from({ length: 26 }, () => letters[random.below(32)]).join('');
}

const secrets = [
  ...shootout.entries.flatMap(({ id, versionId, maker }) => [id, versionId, maker]),
  shootout.id,
  shootout.songId,
  shootout.mixVersionId,
  shootout.title,
  shootout.seed,
  'anchor',
  'upside',
];

test('the example is one', () => {
  expect(shootoutSchema.parse(shootout)).toEqual(shootout);
});

describe('what a voter may see', () => {
  test.each(['preference', 'rating', 'abx'] as const)(
    '%s rounds hold handles and numbers and nothing else',
    (kind) => {
      const make = handles(kind);
      const of = { ...shootout, kind };
      for (const { rounds } of makeRounds(of, { listeners: 4 }))
        for (const [i, round] of rounds.entries()) {
          const view = voterRound(round, { number: i + 1, of: rounds.length }, of, make);
          expect(voterRoundSchema.parse(view)).toEqual(view);
          const session = {
            kind,
            question: of.question,
            state: 'open',
            rounds: rounds.length,
            answered: i,
            secondsLeft: sessionLength(rounds.slice(i), of.sections).seconds,
            next: view,
          };
          const text = JSON.stringify(voterSessionSchema.parse(session));
          for (const secret of secrets) expect(text).not.toContain(secret);
          // Every text in it is one of a few words, a letter or a handle.
          const known = /^(preference|rating|abx|damage|taste|open|[A-Z])$/;
          JSON.parse(text, (_, value) => {
            if (typeof value === 'string' && !known.test(value)) expect(value).toMatch(/^[a-z2-7]{26}$/);
            return value;
          });
        }
    },
  );

  test('an open reference where the question is damage, none where it is taste', () => {
    for (const question of ['damage', 'taste'] as const) {
      const of = { ...shootout, kind: 'rating', question } as const;
      const [{ rounds }] = makeRounds(of, { listeners: 1 });
      const view = voterRound(rounds[0], { number: 1, of: 1 }, of, handles(question));
      if (view.kind !== 'rating') throw new Error('not a rating');
      expect(view.reference !== null).toBe(question === 'damage');
      expect(view.sounds.length).toBe(question === 'damage' ? 7 : 4);
    }
  });

  test('nothing can ride along', () => {
    const make = handles('x');
    const [{ rounds }] = makeRounds(shootout, { listeners: 1 });
    const view = voterRound(rounds[0], { number: 1, of: 9 }, shootout, make);
    for (const extra of [{ maker: 'Ada' }, { entryId: 'entry-Ada' }, { repeatsId: '0-1' }, { title: 'x' }])
      expect(voterRoundSchema.safeParse({ ...view, ...extra }).success).toBe(false);
    for (const word of ['entry-Ada', 'Ada', 'version-Ada', ''])
      expect(handle.safeParse(word).success).toBe(false);
    fc.assert(
      fc.property(fc.string(), (text) => {
        expect(handle.safeParse(text).success).toBe(/^[a-z2-7]{26}$/.test(text) && !text.includes('\n'));
      }),
      { seed: 3, numRuns: 200 },
    );
  });

  test('answers are what a round can be answered with', () => {
    const round = handles('a')();
    for (const answer of ['first', 'tie', 'second', 'a', 'b', [0, 50, 100]])
      expect(voterAnswerSchema.safeParse({ round, answer }).success).toBe(true);
    for (const answer of ['third', [101], [], 7, null])
      expect(voterAnswerSchema.safeParse({ round, answer }).success).toBe(false);
    expect(voterAnswerSchema.safeParse({ round, answer: 'a', listenerId: 'l1' }).success).toBe(false);
  });
});

describe('results', () => {
  const random = new SeededRandom('answers');
  const answers = { preference: ['first', 'tie', 'second'], abx: ['a', 'b'] } as const;

  test.each(['preference', 'rating', 'abx'] as const)(
    '%s: fits its shape, counts the first vote only, repeats itself',
    (kind) => {
      const of = { ...shootout, kind };
      const people = makeRounds(of, { listeners: 4, rounds: 10 }).map((made, i) =>
        listenerSchema.parse({ id: `l${i}`, name: `N${i}`, where: 'here', ...made }),
      );
      const votes = people.flatMap(({ id, rounds }) =>
        rounds.map((round): Vote => {
          const answer =
            round.kind === 'rating'
              ? round.order.map(() => random.below(101))
              : answers[round.kind][random.below(answers[round.kind].length)];
          return voteSchema.parse({
            listenerId: id,
            roundId: round.id,
            answer,
            answeredAt: '2025-01-01T00:00:00.000Z',
          });
        }),
      );
      const results = shootoutResults(of, people, votes);
      expect(resultsSchema.parse(results)).toEqual(results);
      const noise: Vote[] = [
        { ...votes[0], answer: kind === 'abx' ? 'b' : kind === 'rating' ? [1] : 'tie' },
        { ...votes[0], roundId: 'no such round' },
        { ...votes[0], listenerId: 'nobody' },
      ];
      expect(shootoutResults(of, people, [...votes, ...noise])).toEqual(results);
      expect(shootoutResults(of, people, [])).toMatchObject({ kind });
    },
  );
});

test('sessions keep to 20 minutes', () => {
  const [{ rounds }] = makeRounds(shootout, { listeners: 1 });
  expect(sessionLength(rounds, shootout.sections)).toMatchObject({ tooLong: false });
  expect(sessionLength([...rounds, ...rounds], shootout.sections).tooLong).toBe(true);
});
