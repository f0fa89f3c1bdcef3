import { CodedError } from '../../audio/coded-error.ts';
import { audioFilePath } from '../../bench/audio-store.ts';
import { displayName } from '../../bench/display-name.ts';
import { PlaceLibrary } from '../../bench/places/library.ts';
import { type NamedFile, songInPlaces } from '../../bench/places/song-places.ts';
import { Pool } from '../../bench/pool.ts';
import { ReferenceDesk } from '../../bench/reference-desk.ts';
import type { LeadChoice } from '../../bench/tasks/lead-bands.ts';
import { placesReportHtml } from '../../deliver/places-html.ts';
import type { FileFailure } from '../../judge/file-report.ts';
import type { PlaceLevel, PlacesReport } from '../../judge/places-report.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { workOn } from '../progress.ts';
import { canDraw } from '../terminal/can-draw.ts';
import { complain } from '../terminal/complain.ts';
import { refuseBadPlace, writeWhole } from '../write-whole.ts';
import { placesText } from './text.ts';

export interface HearCommand {
  readonly references: readonly string[];
  readonly setName: string | null;
  /** All places when empty. */
  readonly placeNames: readonly string[];
  readonly level: PlaceLevel;
  readonly lead: (LeadChoice & { readonly path: string }) | null;
  readonly json: boolean;
  readonly htmlPath: string | null;
  readonly fresh: boolean;
}

/** `everyroom places FILE...`: 1 when something stands out somewhere, 2 when a file could not be read. */
export async function hearPlaces(paths: readonly string[], command: HearCommand): Promise<ExitCode> {
  if (command.htmlPath !== null) await refuseBadPlace(command.htmlPath);
  const desk = await ReferenceDesk.open();
  const interrupt = untilInterrupted();
  const pool = new Pool();
  const reports: PlacesReport[] = [];
  const failed: FileFailure[] = [];
  try {
    const library = new PlaceLibrary(desk.store);
    const known =
      command.placeNames.length === 0
        ? await library.list()
        : await Promise.all(command.placeNames.map((name) => library.find(name)));
    const places = [...new Map(known.map(({ place }) => [place.id, place])).values()];
    const { name: setName, files: references } = await referencesOf(desk, command);
    const workshop = { pool, results: command.fresh ? null : desk.results };
    await workOn(
      [...new Set(paths)],
      async (path, onProgress) => {
        if (interrupt.signal.aborted) return false;
        const { lead } = command;
        try {
          const report = await songInPlaces(
            {
              song: named(path),
              references,
              setName,
              places,
              level: command.level,
              lead: lead && { how: lead.how, file: named(lead.path) },
              signal: interrupt.signal,
              onProgress,
            },
            workshop,
          );
          reports.push(report);
          return true;
        } catch (error) {
          if (interrupt.signal.aborted) return false;
          const coded =
            error instanceof CodedError
              ? error
              : new CodedError(
                  'INTERNAL',
                  `Everyroom itself failed on “${displayName(path)}”: ${String(error)}`,
                  {
                    cause: error,
                  },
                );
          complain(coded);
          failed.push({ name: displayName(path), code: coded.code, message: coded.message });
          return false;
        }
      },
      { atOnce: 1, verb: 'listening to', name: displayName, isTerminal: canDraw(process.stderr) },
    );
    if (interrupt.signal.aborted) {
      process.stderr.write('Stopped. What was heard is kept and need not be heard again.\n');
      return exitCodes.interrupted;
    }
    if (command.htmlPath !== null && reports.length > 0)
      await writeWhole(command.htmlPath, placesReportHtml(reports, { madeAt: new Date().toISOString() }));
    const leftOut = reports.flatMap(({ against }) => against.leftOut);
    for (const { name, reason } of new Map(leftOut.map((one) => [one.name, one])).values())
      process.stderr.write(`The reference “${name}” is left out. ${reason}\n`);
    process.stdout.write(
      command.json ? `${JSON.stringify({ files: reports, failed }, null, 2)}\n` : placesText(reports),
    );
    if (failed.length > 0 || leftOut.length > 0) return exitCodes.failed;
    const standsOut = reports.some(({ places }) => places.some(({ sentences }) => sentences.length > 0));
    return standsOut ? exitCodes.somethingToMend : exitCodes.nothingToMend;
  } finally {
    interrupt.release();
    await pool.close();
    await desk.close();
  }
}

async function referencesOf(
  desk: ReferenceDesk,
  { references, setName }: HearCommand,
): Promise<{ name: string | null; files: NamedFile[] }> {
  if (setName === null) return { name: null, files: [...new Set(references)].map(named) };
  const set = await desk.find(setName);
  const files = set.members.map(({ sha256, name }) => ({
    path: audioFilePath(desk.home, sha256),
    name,
    sha256,
  }));
  return { name: set.name, files };
}

function named(path: string): NamedFile {
  return { path, name: displayName(path) };
}
