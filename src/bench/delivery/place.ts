import { createHash } from 'node:crypto';
import { mkdir, rename, rm, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { hashFile } from '../../audio/files/hash-file.ts';
import { syncFolder } from '../../audio/files/write-sound.ts';
import type { Run } from '../../audio/run.ts';
import type { DeliveryResult } from '../../deliver/delivery-result.ts';
import { deliveryHtml } from '../../deliver/paper/delivery-html.ts';
import { notesText } from '../../deliver/paper/notes-text.ts';
import { version } from '../version.ts';
import { writeText } from '../whole-folder.ts';
import { type DeliveryJournal, sumsName } from './journal.ts';
import { printPdf } from './print-pdf.ts';
import { workPath } from './programme.ts';

const reportName = 'report.html';

/**
 * Gives every proven file its name, then writes the paper: notes, the report (and its PDF where a browser is installed), the figures
 * for programs, and last the checksums. What is in its place already stays. Rejects with CodedError as writing does, and
 * FILE_CHANGED where a file is no longer what was proven.
 */
export async function place(result: DeliveryResult, journal: DeliveryJournal, run: Run): Promise<void> {
  const { folder } = journal;
  await journal.beginPlacing();
  const sums: [sha256: string, name: string][] = [];
  try {
    for (const [i, { name, found }] of result.files.entries()) {
      run.signal?.throwIfAborted();
      const sha256 = found?.sha256 ?? '';
      await move(workPath(journal, name), join(folder, name));
      if ((await hashFile(join(folder, name))) !== sha256)
        throw new CodedError(
          'FILE_CHANGED',
          `“${name}” was changed after it had been proven. Deliver again into a new folder.`,
        );
      sums.push([sha256, name]);
      run.progress?.((i + 1) / (result.files.length + 1));
    }
    const texts = [
      ...result.texts,
      { name: 'notes.txt', text: notesText(result) },
      { name: reportName, text: deliveryHtml(result, version()) },
      { name: 'delivery.json', text: `${JSON.stringify({ everyroom: version(), ...result }, null, 2)}\n` },
    ];
    for (const { name, text } of texts) {
      await write(join(folder, name), text, journal.work);
      sums.push([createHash('sha256').update(text).digest('hex'), name]);
    }
    await printPdf(join(folder, reportName), join(folder, 'report.pdf'), journal.work, run);
    await write(
      join(folder, sumsName),
      sums.map(([sha256, name]) => `${sha256}  ${name}\n`).join(''),
      journal.work,
    );
    await syncFolder(folder);
    await journal.close();
  } catch (error) {
    throw fileError(error, folder, 'write');
  }
  run.progress?.(1);
}

/** Moved before, by a run that was stopped: there is nothing to move. */
async function move(from: string, to: string): Promise<void> {
  if (!(await stat(from).catch(() => null)) && (await stat(to).catch(() => null))) return;
  await mkdir(dirname(to), { recursive: true });
  await rename(from, to);
  await syncFolder(dirname(to));
}

async function write(path: string, text: string, work: string): Promise<void> {
  const beside = join(work, 'text.new');
  await rm(beside, { force: true });
  await writeText(beside, text);
  await mkdir(dirname(path), { recursive: true });
  await rename(beside, path);
}
