import { CodedError } from '../../audio/coded-error.ts';
import { audioFilePath } from '../../bench/audio-store.ts';
import { displayName } from '../../bench/display-name.ts';
import { Pool } from '../../bench/pool.ts';
import { ReferenceDesk } from '../../bench/reference-desk.ts';
import { runTask } from '../../bench/run-task.ts';
import { readSetFolder, writeSetFolder } from '../../bench/set-folder.ts';
import type { ReferenceSet } from '../../bench/store/sets.ts';
import { measureTask } from '../../bench/tasks/measure.ts';
import { referenceOf, type SetSpreads, spreadsOf } from '../../compare/reference-set.ts';
import { spreadReport } from '../../judge/standing-report.ts';
import { count } from '../../judge/wording.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { workOn } from '../progress.ts';
import { canDraw } from '../terminal/can-draw.ts';
import { complain } from '../terminal/complain.ts';
import { printable } from '../terminal/printable.ts';
import { table } from '../terminal/table.ts';
import { spreadLines } from './spread-text.ts';

async function withDesk<T>(work: (desk: ReferenceDesk) => Promise<T>): Promise<T> {
  const desk = await ReferenceDesk.open();
  try {
    return await work(desk);
  } finally {
    await desk.close();
  }
}

const held = (references: number): string => count(references, 'reference');

const say = (text: string): void => void process.stdout.write(`${printable(text)}\n`);

/** `everyroom references list` */
export function listSets(json: boolean): Promise<ExitCode> {
  return withDesk(async ({ sets }) => {
    const all = await sets.list();
    if (json) process.stdout.write(`${JSON.stringify({ sets: all.map(inShort) }, null, 2)}\n`);
    else if (all.length === 0)
      say('There is no reference set yet; “everyroom references make NAME” makes one.');
    else for (const { name, members } of all) say(`${name}: ${held(members.length)}`);
    return exitCodes.nothingToMend;
  });
}

function inShort({ id, name, members }: ReferenceSet) {
  return {
    id,
    name,
    references: members.map(({ versionId, songTitle, name: file, sha256 }) => ({
      versionId,
      title: songTitle,
      name: file,
      sha256,
    })),
  };
}

/** `everyroom references make` */
export function makeSet(name: string): Promise<ExitCode> {
  return withDesk(async ({ sets }) => {
    const clean = displayName(name.replaceAll(/[/\\]/g, ' '));
    await sets.make(clean);
    say(`Made the reference set “${clean}”.`);
    return exitCodes.nothingToMend;
  });
}

/** `everyroom references add`: each file that cannot be read is named; the others are added all the same. */
export function addReferences(setName: string, paths: readonly string[]): Promise<ExitCode> {
  return withDesk(async (desk) => {
    const set = await desk.find(setName);
    const interrupt = untilInterrupted();
    const pool = new Pool();
    let failed = false;
    try {
      await workOn(
        [...new Set(paths)],
        async (path, onProgress) => {
          try {
            if (interrupt.signal.aborted) return false;
            const versionId = await desk.bring(path);
            await desk.sets.add(set.id, versionId);
            const member = (await desk.sets.get(set.id)).members.find((each) => each.versionId === versionId);
            if (member) await measured(desk, pool, member.sha256, interrupt.signal, onProgress);
            return true;
          } catch (error) {
            failed = true;
            complain(error);
            return false;
          }
        },
        { atOnce: 1, verb: 'adding', name: displayName, isTerminal: canDraw(process.stderr) },
      );
      if (interrupt.signal.aborted) {
        process.stderr.write('Stopped; what was added before stays.\n');
        return exitCodes.interrupted;
      }
      const { name, members } = await desk.sets.get(set.id);
      say(`“${name}” holds ${held(members.length)}.`);
      return failed ? exitCodes.failed : exitCodes.nothingToMend;
    } finally {
      interrupt.release();
      await pool.close();
    }
  });
}

function measured(
  { home, results }: ReferenceDesk,
  pool: Pool,
  sha256: string,
  signal: AbortSignal,
  onProgress: (stage: string, fraction: number) => void = () => {},
) {
  return runTask(
    measureTask,
    { files: [{ path: audioFilePath(home, sha256), sha256 }], options: {} },
    { pool, results },
    { signal, progress: (fraction) => onProgress('measuring', fraction) },
  );
}

/** How far the references of a set lie apart; those not measured yet are measured now. */
export async function spreadsOfSet(
  desk: ReferenceDesk,
  set: ReferenceSet,
  pool: Pool,
  signal: AbortSignal,
): Promise<SetSpreads> {
  const all = await Promise.all(set.members.map(({ sha256 }) => measured(desk, pool, sha256, signal)));
  return spreadsOf(all.map(({ measurement }) => referenceOf(measurement)));
}

/** `everyroom references remove`: by title, file name or id; without any, the whole set (its references stay on the bench). */
export function removeReferences(setName: string, references: readonly string[]): Promise<ExitCode> {
  return withDesk(async (desk) => {
    const set = await desk.find(setName);
    if (references.length === 0) {
      await desk.sets.delete(set.id);
      say(
        `Deleted the set “${set.name}”. Its references stay on the bench; the page can take it back for a day.`,
      );
      return exitCodes.nothingToMend;
    }
    const found = references.map((reference) => {
      const fitting = set.members.filter(({ versionId, name, songTitle }) =>
        [versionId, name, songTitle].includes(reference),
      );
      if (fitting.length === 1) return fitting[0];
      throw new CodedError(
        'NOT_FOUND',
        fitting.length === 0
          ? `“${set.name}” holds no reference “${reference}”.`
          : `“${set.name}” holds several references “${reference}”; name one by its id (--json lists them).`,
      );
    });
    for (const { versionId } of found) await desk.sets.remove(set.id, versionId);
    say(`Took ${held(found.length)} out of “${set.name}”.`);
    return exitCodes.nothingToMend;
  });
}

/** `everyroom references show` */
export function showSet(setName: string, json: boolean): Promise<ExitCode> {
  return withDesk(async (desk) => {
    const set = await desk.find(setName);
    const interrupt = untilInterrupted();
    const pool = new Pool();
    try {
      const { whole, loudest } = await spreadsOfSet(desk, set, pool, interrupt.signal);
      if (json) {
        const shown = { ...inShort(set), whole: spreadReport(whole), loudest: spreadReport(loudest) };
        process.stdout.write(`${JSON.stringify(shown, null, 2)}\n`);
        return exitCodes.nothingToMend;
      }
      const columns = (['left', 'left'] as const).map((align) => ({ head: '', align }));
      const members = set.members.map(({ songTitle, name }) => [printable(songTitle), printable(name)]);
      const lines = [
        printable(set.name),
        '',
        ...(members.length > 0 ? table(columns, members).slice(1) : ['It holds no reference yet.']),
      ];
      if (members.length > 0) lines.push('', 'Over whole songs', ...spreadLines(whole));
      process.stdout.write(`${lines.join('\n')}\n`);
      return exitCodes.nothingToMend;
    } finally {
      interrupt.release();
      await pool.close();
    }
  });
}

/** `everyroom references export` */
export function exportSet(setName: string, folder: string): Promise<ExitCode> {
  return withDesk(async (desk) => {
    const set = await desk.find(setName);
    await writeSetFolder(desk.home, set, folder);
    say(`Wrote “${set.name}” with ${held(set.members.length)} to ${folder}`);
    return exitCodes.nothingToMend;
  });
}

/** `everyroom references import`: everything is held against its hash before anything is taken. */
export function importSet(folder: string): Promise<ExitCode> {
  return withDesk(async (desk) => {
    const { name, references } = await readSetFolder(folder);
    const taken = new Set((await desk.sets.list()).map((set) => set.name.toLowerCase()));
    let free = name;
    for (let i = 2; taken.has(free.toLowerCase()); i++) free = `${name} (${i})`;
    const versionIds: string[] = [];
    for (const { path, ...reference } of references) versionIds.push(await desk.bring(path, reference));
    const id = await desk.sets.make(free);
    for (const versionId of versionIds) await desk.sets.add(id, versionId);
    say(`Took in “${free}” with ${held(versionIds.length)}.`);
    return exitCodes.nothingToMend;
  });
}
