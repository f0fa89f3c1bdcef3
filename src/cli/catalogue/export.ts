import { once } from 'node:events';
import { CodedError } from '../../audio/coded-error.ts';
import { type ExportFormat, exportSongs } from '../../catalogue/looking/export-songs.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { refuseBadPlace, writeWhole } from '../write-whole.ts';
import { findRun, withCatalogue } from './open.ts';

export interface CatalogueExport {
  readonly format: ExportFormat;
  /** With the whole verdict of each song. */
  readonly reports: boolean;
  /** null: standard output. */
  readonly outputPath: string | null;
}

/** `everyroom catalogue export`: a line a song, whole or not at all where it goes to a file. */
export async function exportRun(
  wanted: string,
  { format, reports, outputPath }: CatalogueExport,
): Promise<ExitCode> {
  if (reports && format === 'csv')
    throw new CodedError('USAGE', 'Whole verdicts do not fit into CSV; add “--format jsonl”.');
  if (outputPath !== null) await refuseBadPlace(outputPath);
  return withCatalogue(async (catalogue) => {
    const run = await findRun(catalogue, wanted);
    const text = exportSongs(catalogue.looking, run, format, reports);
    if (outputPath !== null) await writeWhole(outputPath, text);
    else for await (const part of text) if (!process.stdout.write(part)) await once(process.stdout, 'drain');
    return exitCodes.nothingToMend;
  });
}
