import { hashFile } from '../../audio/files/hash-file.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import { displayName, titleOf } from '../../bench/display-name.ts';
import { count, list } from '../../judge/wording.ts';
import type { Song, Version } from '../../server/api.ts';
import type {
  NewShootout,
  PackCheck,
  Plan,
  ShootoutDetail,
  ShootoutEntry,
  ShootoutSummary,
  Written,
} from '../../server/shootout-api.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { complain } from '../terminal/complain.ts';
import { withHost } from './host.ts';
import { say, sayJson } from './say.ts';

export interface NewCommand {
  readonly title?: string;
  readonly kind: NewShootout['kind'];
  readonly question: NewShootout['question'];
  readonly sections: NewShootout['sections'];
  readonly json: boolean;
}

/** `everyroom shootout new` */
export function makeShootout(path: string, command: NewCommand): Promise<ExitCode> {
  return withHost(async (host) => {
    // What is wrong with the file is told before anything is made.
    await (await openSound(path)).close();
    const sha256 = await hashFile(path);
    const { songs } = await host.call<{ songs: Song[] }>('GET', '/api/songs');
    const there = songs.flatMap(({ versions }) => versions).find((version) => version.sha256 === sha256);
    const mix =
      there ??
      (await host.send<{ version: Version }>('/api/versions', { name: displayName(path), kind: 'mix' }, path))
        .version;
    const { title, kind, question, sections } = command;
    const made = await host.call<ShootoutDetail>('POST', '/api/shootouts', {
      mixVersionId: mix.id,
      title,
      kind,
      question,
      sections,
    });
    if (command.json) sayJson(made);
    else {
      say(`Made the shoot-out “${made.title}” (${made.id}).`);
      tellSections(made);
    }
    return exitCodes.nothingToMend;
  });
}

/** `everyroom shootout list` */
export function listShootouts(json: boolean): Promise<ExitCode> {
  return withHost(async (host) => {
    const { shootouts } = await host.call<{ shootouts: ShootoutSummary[] }>('GET', '/api/shootouts');
    if (json) sayJson({ shootouts });
    else if (shootouts.length === 0)
      say('There is no shoot-out yet; “everyroom shootout new MIX” makes one.');
    else
      for (const { id, title, state, entries, votes } of shootouts)
        say(`${id}  ${title}: ${state}, ${count(entries, 'master')}, ${count(votes, 'vote')}`);
    return exitCodes.nothingToMend;
  });
}

/** `everyroom shootout show` */
export function showShootout(wanted: string, json: boolean): Promise<ExitCode> {
  return withHost(async (host) => {
    const shootout = await host.find(wanted);
    if (json) {
      sayJson(shootout);
      return exitCodes.nothingToMend;
    }
    const { id, title, kind, question, state, mixName, entries, listeners, fairNotes, missing } = shootout;
    say(`${title} (${id}): ${state}; ${kind}${kind === 'rating' ? `, ${question}` : ''}; mix ${mixName}`);
    tellSections(shootout);
    for (const { maker, yours, versionName, notes } of entries)
      say(`${maker}${yours ? ' (yours)' : ''}: ${versionName}. ${notes.join(' ')}`, '· ');
    for (const { name, where, answered, rounds } of listeners)
      say(`${name}, ${where === 'folder' ? 'far away' : where}: ${answered} of ${rounds} rounds`, '- ');
    for (const note of fairNotes) say(note);
    if (missing !== null) say(missing);
    return exitCodes.nothingToMend;
  });
}

/** `everyroom shootout pack` */
export function packShootout(
  wanted: string,
  folder: string,
  brief: { references?: string; wishes?: string; deadline?: string },
  json: boolean,
): Promise<ExitCode> {
  return withHost(async (host) => {
    const { id } = await host.find(wanted);
    const check = await host.call<PackCheck>('GET', `/api/shootouts/${id}/pack`);
    const written = await host.call<Written>('POST', `/api/shootouts/${id}/pack`, { brief });
    await host.fetchInto(folder, written);
    if (json) {
      sayJson({ check, folder, files: written.files });
      return exitCodes.nothingToMend;
    }
    for (const { severity, title, text } of check.findings) say(`${severity}: ${title}. ${text}`, '· ');
    say(`${list(written.files.map(({ name }) => name))} are in ${folder}.`);
    return exitCodes.nothingToMend;
  });
}

/** `everyroom shootout take`: files that are refused are named; the others are taken all the same. */
export function takeMasters(
  wanted: string,
  paths: readonly string[],
  { maker, yours, json }: { maker?: string; yours: boolean; json: boolean },
): Promise<ExitCode> {
  return withHost(async (host) => {
    const { id } = await host.find(wanted);
    const taken: ShootoutEntry[] = [];
    let failed = false;
    for (const path of paths)
      try {
        await (await openSound(path)).close();
        const name = displayName(path);
        const entry = await host.send<ShootoutEntry>(
          `/api/shootouts/${id}/entries`,
          { name, maker: maker ?? titleOf(name), yours: String(yours) },
          path,
        );
        taken.push(entry);
        if (!json) say(`${name} is a master by ${entry.maker}. ${entry.notes.join(' ')}`.trim());
      } catch (error) {
        failed = true;
        process.stderr.write(`${displayName(path)}: `);
        complain(error);
      }
    if (json) sayJson({ taken });
    return failed ? exitCodes.failed : exitCodes.nothingToMend;
  });
}

/** `everyroom shootout rounds` */
export function planRounds(
  wanted: string,
  { listeners, rounds, open, json }: { listeners: number; rounds?: number; open: boolean; json: boolean },
): Promise<ExitCode> {
  return withHost(async (host) => {
    const { id } = await host.find(wanted);
    const plan = await host.call<Plan>('POST', `/api/shootouts/${id}/plan`, { listeners, rounds });
    const opened = open
      ? await host.call<ShootoutDetail>('POST', `/api/shootouts/${id}/open`, { listeners, rounds })
      : null;
    if (json) {
      sayJson({ plan, opened });
      return exitCodes.nothingToMend;
    }
    say(`${count(plan.rounds, 'round')} each for ${count(plan.listeners, 'listener')}.`);
    for (const sentence of plan.sentences) say(sentence);
    for (const note of opened?.fairNotes ?? []) say(note);
    say(
      opened
        ? `“${opened.title}” is open for votes.`
        : 'Nothing was opened; --open makes the masters fair and opens the vote.',
    );
    return exitCodes.nothingToMend;
  });
}

function tellSections({ sections }: ShootoutDetail): void {
  const parts = sections.map(
    ({ startSeconds, endSeconds, label }) =>
      `${startSeconds.toFixed(1)} to ${endSeconds.toFixed(1)} s${label === '' ? '' : ` (${label})`}`,
  );
  say(`Listened to: ${list(parts)}.`);
}
