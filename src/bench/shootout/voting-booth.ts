import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { sessionLength } from '../../shootout/make-rounds.ts';
import type { Round } from '../../shootout/shootout-shapes.ts';
import {
  folderVotesSchema,
  handle as handleShape,
  type VoterAnswer,
  type VoterRound,
  type VoterSession,
  voteFileSchema,
  voterRound,
  voterSessionSchema,
} from '../../shootout/voter-shapes.ts';
import type { Home } from '../home.ts';
import type { Store } from '../store/database.ts';
import { type Voter, type VoterRoundRow, VotingStore } from '../store/voting.ts';
import { isSecret, partsOfToken, sameHex, signatureOf } from './tokens.ts';

/** Which links are let in: those for this machine, or those of the one shoot-out that is shared. */
export type Door = { readonly where: 'here' } | { readonly where: 'network'; readonly shootoutId: string };

export interface VotesTaken {
  readonly listenerId: string;
  readonly taken: number;
  /** Rounds that had an answer already, which stays. */
  readonly before: number;
}

/** What votes of a folder are kept under instead of a request's key. */
const folderKey = 'folder';
const mostVoteFileBytes = 500_000;

/** Where voters are let in, heard and counted. It knows nothing of makers, entries and files. */
export class VotingBooth {
  readonly #home: Home;
  readonly #store: VotingStore;
  readonly #told: (shootoutId: string) => void;
  readonly #now: () => Date;

  /** @param told of a shoot-out in which somebody voted */
  constructor(home: Home, store: Store, told: (shootoutId: string) => void, now: () => Date) {
    this.#home = home;
    this.#store = new VotingStore(store);
    this.#told = told;
    this.#now = now;
  }

  /** The voter whose link it is. CodedError VOTER_REFUSED. */
  async enter(token: string, door: Door): Promise<Voter> {
    const parts = partsOfToken(token);
    const found = parts && (await this.#store.findByToken(parts.selector));
    // The comparison is made in any case: how long an answer takes tells nothing.
    const right = isSecret(parts?.secret ?? '', found?.hash ?? '0'.repeat(64));
    if (!found || !right || found.voter.where !== door.where)
      throw refused('This link opens nothing here. Ask whoever sent it for a new one.');
    if (door.where === 'network' && found.voter.shootoutId !== door.shootoutId)
      throw refused('This link opens nothing here. Ask whoever sent it for a new one.');
    if (found.expiresAt <= this.#now().toISOString())
      throw refused('This link has run out. Ask whoever sent it for a new one.');
    return found.voter;
  }

  /** Where a voter stands, and what comes next. */
  async session(voter: Voter): Promise<VoterSession> {
    const rounds = await this.#store.rounds(voter.listenerId);
    const left = rounds.filter(({ answered }) => !answered);
    const [next] = left;
    return voterSessionSchema.parse({
      kind: voter.kind,
      question: voter.question,
      state: voter.open ? 'open' : 'closed',
      rounds: rounds.length,
      answered: rounds.length - left.length,
      secondsLeft: voter.open
        ? sessionLength(
            left.map(({ round }) => round),
            voter.sections,
          ).seconds
        : 0,
      next: voter.open && next ? await this.#asSeen(voter, next, rounds.length) : null,
    });
  }

  /**
   * Takes an answer; when this resolves it is on the disk. The same request sent again (same key) is answered the same.
   * CodedError VOTE_REFUSED.
   */
  async answer(voter: Voter, { round: handle, answer }: VoterAnswer, requestKey: string): Promise<void> {
    const asked = (await this.#store.rounds(voter.listenerId)).find((each) => each.handle === handle);
    if (!asked) throw voteRefused('That is none of your rounds.');
    if (!answers(asked.round, answer)) throw voteRefused('That is no answer to this kind of round.');
    const taken = await this.#store.vote({
      listenerId: voter.listenerId,
      round: handle,
      answer,
      answeredAt: this.#now().toISOString(),
      requestKey,
      inTurn: true,
    });
    if (taken) {
      this.#told(voter.shootoutId);
      return;
    }
    const before = await this.#store.voteOf(handle);
    if (before?.requestKey === requestKey) return;
    if (before) throw voteRefused('This round has your answer already; the first one counts.');
    if (!(await this.#store.isOpen(voter.listenerId)))
      throw voteRefused('Voting is over; this answer came too late.');
    throw voteRefused('An earlier round is still to be answered.');
  }

  /** Path of the sound behind one of the voter's handles. CodedError NOT_FOUND; VOTE_REFUSED when voting is over. */
  async soundPath(voter: Voter, handle: string): Promise<string> {
    if (!voter.open) throw voteRefused('Voting is over.');
    const cut = handleShape.safeParse(handle).success
      ? await this.#store.cut(voter.listenerId, handle)
      : null;
    if (cut === null) throw new CodedError('NOT_FOUND', 'There is no such sound.');
    return join(this.#home.shootoutsPath, voter.shootoutId, cut);
  }

  /** All rounds of a listener far away, and the file behind each handle. */
  async folderRounds(folder: string): Promise<{
    voter: Voter;
    key: string;
    rounds: VoterRound[];
    cuts: Map<string, string>;
    seconds: number;
  }> {
    const found = await this.#store.findByFolder(folder);
    if (!found) throw new CodedError('NOT_FOUND', 'There is no such folder.');
    const rows = await this.#store.rounds(found.voter.listenerId);
    const cuts = new Map<string, string>();
    const rounds: VoterRound[] = [];
    for (const row of rows) {
      rounds.push(await this.#asSeen(found.voter, row, rows.length));
      for (const { handle, cut } of (await this.#store.sounds(row.handle)).values()) cuts.set(handle, cut);
    }
    const { seconds } = sessionLength(
      rows.map(({ round }) => round),
      found.voter.sections,
    );
    return { ...found, rounds, cuts, seconds };
  }

  /**
   * Takes in the text of a vote file for a shoot-out. Its signature must be right and every answer must fit before any is
   * taken; a file taken in twice adds nothing. CodedError VOTE_FILE_INVALID, VOTE_REFUSED (late).
   */
  async takeFile(shootoutId: string, text: string): Promise<VotesTaken> {
    if (Buffer.byteLength(text) > mostVoteFileBytes) throw invalidFile('It is far too large.');
    const file = voteFileSchema.safeParse(parsed(text));
    if (!file.success) throw invalidFile('It is not one that a shoot-out folder makes.');
    const votes = folderVotesSchema.safeParse(parsed(file.data.votes));
    if (!votes.success) throw invalidFile('Its answers are not as a shoot-out folder writes them.');
    const found = await this.#store.findByFolder(votes.data.folder);
    if (!found || found.voter.shootoutId !== shootoutId)
      throw invalidFile('It comes from a folder that is not, or no longer, part of this shoot-out.');
    if (!sameHex(signatureOf(file.data.votes, found.key), file.data.signature))
      throw invalidFile('Its signature does not fit: it was changed after the page had written it.');
    if (!found.voter.open) throw voteRefused('Voting is over; this file came too late.');
    const { listenerId } = found.voter;
    const rounds = new Map((await this.#store.rounds(listenerId)).map((row) => [row.handle, row.round]));
    const { answers: given } = votes.data;
    if (new Set(given.map(({ round }) => round)).size < given.length)
      throw invalidFile('It answers a round twice.');
    for (const { round, answer } of given) {
      const asked = rounds.get(round);
      if (!asked || !answers(asked, answer)) throw invalidFile('It answers what was not asked.');
    }
    let taken = 0;
    for (const { round, answer, at } of given)
      taken += Number(
        await this.#store.vote({
          listenerId,
          round,
          answer,
          answeredAt: at,
          requestKey: folderKey,
          inTurn: false,
        }),
      );
    if (taken < given.length && !(await this.#store.isOpen(listenerId)))
      throw voteRefused('Voting ended while the file was taken in.');
    if (taken > 0) this.#told(shootoutId);
    return { listenerId, taken, before: given.length - taken };
  }

  async #asSeen(voter: Voter, { handle, number, round }: VoterRoundRow, of: number): Promise<VoterRound> {
    const sounds = await this.#store.sounds(handle);
    return voterRound(round, { number: number + 1, of }, voter, (what) => {
      if (what === 'round') return handle;
      const sound = sounds.get(what === 'open-reference' ? -1 : what);
      if (!sound) throw new Error(`round ${handle} has no sound at ${what}`);
      return sound.handle;
    });
  }
}

function answers(round: Round, answer: VoterAnswer['answer']): boolean {
  if (round.kind === 'rating') return Array.isArray(answer) && answer.length === round.order.length;
  const known = round.kind === 'abx' ? ['a', 'b'] : ['first', 'tie', 'second'];
  return typeof answer === 'string' && known.includes(answer);
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

function refused(sentence: string): CodedError {
  return new CodedError('VOTER_REFUSED', sentence);
}

function voteRefused(sentence: string): CodedError {
  return new CodedError('VOTE_REFUSED', sentence);
}

function invalidFile(sentence: string): CodedError {
  return new CodedError('VOTE_FILE_INVALID', `This vote file cannot be taken in. ${sentence}`);
}
