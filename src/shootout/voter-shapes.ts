import { z } from 'zod';
import { mostStimuli } from './rating-screens.ts';
import type { Round, Shootout } from './shootout-shapes.ts';

/**
 * All that a voter's browser may be told before the reveal. No field takes free text, an id of the bench, a file's name or
 * a maker's; objects are strict, so that nothing rides along. Handles are random: 128 bits, 26 letters and digits of
 * base 32, made by the server for one listener and one place in one round, so that the same sound never has the same handle
 * twice.
 */
export const handle = z.string().regex(/^[a-z2-7]{26}$/);
const letter = z.string().regex(/^[A-Z]$/);
const counted = { round: handle, number: z.number().int().min(1), of: z.number().int().min(1) };

export const voterRoundSchema = z.discriminatedUnion('kind', [
  /** Which would you rather keep listening to? The sounds are called 1 and 2: letters would give the repeats away. */
  z.strictObject({ kind: z.literal('preference'), ...counted, sounds: z.tuple([handle, handle]) }),
  z.strictObject({
    kind: z.literal('rating'),
    ...counted,
    /** The open reference, where the question is damage. */
    reference: handle.nullable(),
    sounds: z
      .array(z.strictObject({ letter, sound: handle }))
      .min(1)
      .max(mostStimuli),
  }),
  z.strictObject({ kind: z.literal('abx'), ...counted, a: handle, b: handle, x: handle }),
]);

export const voterSessionSchema = z.strictObject({
  kind: z.enum(['preference', 'rating', 'abx']),
  question: z.enum(['taste', 'damage']),
  state: z.enum(['open', 'closed']),
  rounds: z.number().int(),
  answered: z.number().int(),
  /** About how long the rest takes, s. */
  secondsLeft: z.number(),
  /** What comes next; null when all is answered or voting is over. */
  next: voterRoundSchema.nullable(),
});

/** What a voter sends. */
export const voterAnswerSchema = z.strictObject({
  round: handle,
  answer: z.union([
    z.enum(['first', 'tie', 'second', 'a', 'b']),
    z.array(z.number().min(0).max(100)).min(1).max(mostStimuli),
  ]),
});

export type VoterRound = z.infer<typeof voterRoundSchema>;

/**
 * A round as the voter gets it.
 *
 * @param handleOf the handle of a place of this round: 'round', or the place of a sound in the order that it stands in
 */
export function voterRound(
  round: Round,
  place: { readonly number: number; readonly of: number },
  { question }: Pick<Shootout, 'question'>,
  handleOf: (what: 'round' | 'open-reference' | number) => string,
): VoterRound {
  const all = { round: handleOf('round'), number: place.number, of: place.of };
  if (round.kind === 'preference') return { kind: 'preference', ...all, sounds: [handleOf(0), handleOf(1)] };
  if (round.kind === 'abx') return { kind: 'abx', ...all, a: handleOf(0), b: handleOf(1), x: handleOf(2) };
  return {
    kind: 'rating',
    ...all,
    reference: question === 'damage' ? handleOf('open-reference') : null,
    // Letters from left to right: the orders differ per listener and screen, and so does who is behind a letter.
    sounds: round.order.map((_, i) => ({ letter: String.fromCharCode(65 + i), sound: handleOf(i) })),
  };
}
