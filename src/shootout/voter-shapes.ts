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

/**
 * What a folder for a listener far away tells its page, in a script tag. In a folder a sound that comes in several rounds lies
 * there once: who has all files can compare them anyway.
 */
export const voterFolderSchema = z.strictObject({
  format: z.literal('everyroom-folder/1'),
  folder: handle,
  kind: z.enum(['preference', 'rating', 'abx']),
  question: z.enum(['taste', 'damage']),
  /** About how long all of it takes, s. */
  seconds: z.number(),
  rounds: z.array(voterRoundSchema).min(1),
  /** Where each sound of the rounds lies, relative to the page: 'sounds/<handle>.wav'. */
  files: z.record(handle, z.string().regex(/^sounds\/[a-z2-7]{26}\.wav$/)),
  /** Signs the vote file: 256 bits, hexadecimal. */
  key: z.string().regex(/^[0-9a-f]{64}$/),
});

/** The answers of a folder, in the order in which they were given. */
export const folderVotesSchema = z.strictObject({
  folder: handle,
  answers: z
    .array(voterAnswerSchema.extend({ at: z.iso.datetime() }))
    .min(1)
    .max(1000),
});

/** The file that a folder gives back: everyroom-votes.json. */
export const voteFileSchema = z.strictObject({
  format: z.literal('everyroom-votes/1'),
  /** The JSON text of FolderVotes: a text in a text, so that both sides sign the very same bytes. */
  votes: z.string().max(400_000),
  /** HMAC-SHA-256 of the UTF-8 bytes of `votes`, with the 32 bytes of the folder's key; hexadecimal. */
  signature: z.string().regex(/^[0-9a-f]{64}$/),
});

export type VoterRound = z.infer<typeof voterRoundSchema>;
export type VoterSession = z.infer<typeof voterSessionSchema>;
export type VoterAnswer = z.infer<typeof voterAnswerSchema>;
export type VoterFolder = z.infer<typeof voterFolderSchema>;
export type FolderVotes = z.infer<typeof folderVotesSchema>;
export type VoteFile = z.infer<typeof voteFileSchema>;

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
