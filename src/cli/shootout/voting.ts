import { readFile } from 'node:fs/promises';
import { renderUnicodeCompact } from 'uqr';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { displayName } from '../../bench/display-name.ts';
import type {
  Invitation,
  Lessons,
  RemoteWritten,
  Sharing,
  ShootoutDetail,
  ShootoutResults,
  VotesTaken,
} from '../../server/shootout-api.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { complain } from '../terminal/complain.ts';
import { withHost } from './host.ts';
import { say, sayJson } from './say.ts';

export interface ShareCommand {
  readonly listeners: readonly string[];
  readonly here: boolean;
  readonly off: boolean;
  readonly hours: number;
  readonly json: boolean;
}

/** `everyroom shootout share`: beside a running server it ends at once; without one it stays until Ctrl-C. */
export function shareShootout(wanted: string, command: ShareCommand): Promise<ExitCode> {
  const interrupt = untilInterrupted();
  return withHost(async (host) => {
    const { id, title } = await host.find(wanted);
    const { listeners, here, off, hours, json } = command;
    if (off || !here)
      await host.call<Sharing>(
        'PUT',
        `/api/shootouts/${id}/sharing`,
        off ? { on: false } : { on: true, hours },
      );
    const sharing = await host.call<Sharing>('GET', '/api/shootouts/sharing');
    const links: { name: string; url: string }[] = [];
    for (const name of off ? [] : listeners) {
      const { path, links: made } = await host.call<Invitation>('POST', `/api/shootouts/${id}/listeners`, {
        name,
        where: here ? 'here' : 'network',
        hours,
      });
      for (const url of here ? [host.url + path] : made.map((link) => link.url)) links.push({ name, url });
    }
    if (json) sayJson({ sharing, links });
    else {
      if (off) say(`“${title}” is not shared any more.`);
      else if (!here)
        say(`“${title}” is shared at ${sharing.addresses.join(', ')} until ${sharing.expiresAt}.`);
      for (const { name, url } of links) {
        say(`${name}: ${url}`);
        if (!here) process.stdout.write(`${renderUnicodeCompact(url, { ecc: 'M', border: 2 })}\n`);
      }
    }
    if (host.own && !off) {
      if (!json) say('Voting works as long as this runs. Ctrl-C ends it; no vote is lost.');
      await aborted(interrupt.signal);
    }
    return exitCodes.nothingToMend;
  }).finally(interrupt.release);
}

/** `everyroom shootout remote` */
export function writeRemote(wanted: string, name: string, folder: string, json: boolean): Promise<ExitCode> {
  return withHost(async (host) => {
    const { id } = await host.find(wanted);
    const written = await host.call<RemoteWritten>('POST', `/api/shootouts/${id}/remote`, { name });
    try {
      await host.fetchInto(folder, written);
    } catch (error) {
      // A listener whose folder never came to be would take someone's place.
      await host.call('DELETE', `/api/shootouts/${id}/listeners/${written.listener.id}`);
      throw error;
    }
    if (json) sayJson({ listener: written.listener, folder, files: written.files });
    else say(`Send ${folder} to ${name}. What comes back is taken in with “everyroom shootout votes”.`);
    return exitCodes.nothingToMend;
  });
}

/** `everyroom shootout votes`: without files it tells who has voted. */
export function takeVotes(wanted: string, paths: readonly string[], json: boolean): Promise<ExitCode> {
  return withHost(async (host) => {
    const { id } = await host.find(wanted);
    const taken: VotesTaken[] = [];
    let failed = false;
    for (const path of paths)
      try {
        const body = await voteFileAt(path);
        const answer = await host.call<VotesTaken>('POST', `/api/shootouts/${id}/votes`, body);
        taken.push(answer);
        if (!json) for (const sentence of answer.sentences) say(sentence);
      } catch (error) {
        failed = true;
        process.stderr.write(`${displayName(path)}: `);
        complain(error);
      }
    const { listeners, votes } = await host.call<ShootoutDetail>('GET', `/api/shootouts/${id}`);
    if (json) sayJson({ taken, votes, listeners });
    else
      for (const { name, answered, rounds } of listeners)
        say(`${name}: ${answered} of ${rounds} rounds`, '- ');
    return failed ? exitCodes.failed : exitCodes.nothingToMend;
  });
}

/** `everyroom shootout results` and `reveal` */
export function tellResults(
  wanted: string,
  { reveal, json }: { reveal: boolean; json: boolean },
): Promise<ExitCode> {
  return withHost(async (host) => {
    const { id, state } = await host.find(wanted);
    if (reveal && state !== 'revealed') await host.call('POST', `/api/shootouts/${id}/reveal`);
    const results = await host.call<ShootoutResults>('GET', `/api/shootouts/${id}/results`);
    if (json) {
      sayJson(results);
      return exitCodes.nothingToMend;
    }
    for (const sentence of results.sentences) say(sentence);
    if (results.results.kind === 'preference' && results.results.all) {
      const nameOf = new Map(results.names.map(({ id: entry, name }) => [entry, name]));
      for (const { entryId, points, strength, interval, chanceBest } of results.results.all.strengths) {
        const end = (value: number | null) => (value === null ? 'open' : value.toFixed(2));
        say(
          `${nameOf.get(entryId)}: ${points} points, strength ${strength.toFixed(2)} (95 %: ${end(interval.low)} to ${end(interval.high)}), best with a chance of ${Math.round(100 * chanceBest)} %`,
          '· ',
        );
      }
    }
    if (results.state === 'open')
      say(
        `${results.votes} of ${results.possible} answers are in. Letters stand for masters until the reveal.`,
      );
    return exitCodes.nothingToMend;
  });
}

/** `everyroom shootout lessons` */
export function tellLessons(
  wanted: string,
  { entry, against, json }: { entry?: string; against?: string; json: boolean },
): Promise<ExitCode> {
  return withHost(async (host) => {
    const { id, entries } = await host.find(wanted);
    const idOf = (maker: string | undefined) => {
      if (maker === undefined) return undefined;
      const found = entries.find(
        (each) => each.id === maker || each.maker.toLowerCase() === maker.toLowerCase(),
      );
      if (!found) throw new CodedError('NOT_FOUND', `There is no master by “${maker}” in it.`);
      return found.id;
    };
    const query = new URLSearchParams();
    for (const [name, value] of [
      ['entry', idOf(entry)],
      ['against', idOf(against)],
    ] as const)
      if (value !== undefined) query.set(name, value);
    const lessons = await host.call<Lessons>('GET', `/api/shootouts/${id}/lessons?${query}`);
    if (json) sayJson(lessons);
    else {
      say(`What ${lessons.name} did and ${lessons.againstName} did not:`);
      for (const { sentence, place } of lessons.lessons)
        say(
          place === null
            ? sentence
            : `${sentence} Hear it from ${place.startSeconds.toFixed(1)} to ${place.endSeconds.toFixed(1)} s.`,
          '· ',
        );
      if (lessons.chainSentences.length > 0) {
        say(`A chain to begin from, toward ${lessons.name} (whole with --json):`);
        for (const sentence of lessons.chainSentences) say(sentence, '· ');
      }
    }
    return exitCodes.nothingToMend;
  });
}

async function voteFileAt(path: string): Promise<unknown> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    throw fileError(error, path, 'read');
  }
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new CodedError('VOTE_FILE_INVALID', 'This is no vote file.', { cause: error });
  }
}

function aborted(signal: AbortSignal): Promise<void> {
  if (signal.aborted) return Promise.resolve();
  return new Promise((resolve) => signal.addEventListener('abort', () => resolve(), { once: true }));
}
