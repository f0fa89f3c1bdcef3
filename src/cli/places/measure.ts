import { readFile, stat } from 'node:fs/promises';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { partOfRun } from '../../audio/run.ts';
import { displayName } from '../../bench/display-name.ts';
import { hashedFile } from '../../bench/hashed-file.ts';
import { PlaceLibrary } from '../../bench/places/library.ts';
import { curveOf, placeDraft } from '../../bench/places/measurings.ts';
import { Pool } from '../../bench/pool.ts';
import { ReferenceDesk } from '../../bench/reference-desk.ts';
import { runTask } from '../../bench/run-task.ts';
import { measurePlaceTask } from '../../bench/tasks/measure-place.ts';
import type { Measured } from '../../judge/measured-report.ts';
import { figure, signed } from '../../judge/wording.ts';
import type { Curve, PlaceLayout } from '../../places/place.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { workOn } from '../progress.ts';
import { canDraw } from '../terminal/can-draw.ts';
import { printable } from '../terminal/printable.ts';
import { styleFor } from '../terminal/style.ts';
import { table } from '../terminal/table.ts';
import { hang } from '../terminal/wrap.ts';

export interface MeasureCommand {
  readonly microphone?: string;
  readonly reference?: string;
  readonly seconds?: number;
  readonly name?: string;
  readonly layout: PlaceLayout['kind'];
  readonly noise: number;
  readonly talkOver: number;
  readonly loudLevel: number;
  readonly json: boolean;
}

const layouts: Record<PlaceLayout['kind'], PlaceLayout> = {
  mono: { kind: 'mono' },
  narrow: { kind: 'narrow', sideDb: -3 },
  stereo: { kind: 'stereo', angleDegrees: 30 },
  headphones: { kind: 'headphones' },
};
const mostMicrophoneBytes = 1 << 20;

/** `everyroom places measure`: says what a recording tells of a place, and keeps it as one when it has a name. */
export async function measurePlace(path: string, command: MeasureCommand): Promise<ExitCode> {
  const microphone = await microphoneOf(command.microphone);
  const desk = await ReferenceDesk.open();
  const interrupt = untilInterrupted();
  const pool = new Pool();
  try {
    let measured: Measured | null = null;
    let trouble: unknown = null;
    await workOn(
      [path],
      async (_path, tell) => {
        const run = { signal: interrupt.signal, progress: (fraction: number) => tell('measuring', fraction) };
        const files = [path, ...(command.reference === undefined ? [] : [command.reference])].map((each, i) =>
          hashedFile(each, partOfRun(run, 0.02 * i, 0.02 * (i + 1))),
        );
        const options = { microphone, sweepSeconds: command.seconds ?? null, sweepToHz: 20000 };
        try {
          measured = await runTask(
            measurePlaceTask,
            { files, options },
            { pool, results: desk.results },
            partOfRun(run, 0.04, 1),
          );
          return true;
        } catch (error) {
          trouble = error;
          return false;
        }
      },
      { atOnce: 1, verb: 'measuring', name: displayName, isTerminal: canDraw(process.stderr) },
    );
    if (interrupt.signal.aborted) {
      process.stderr.write('Stopped; nothing was kept.\n');
      return exitCodes.interrupted;
    }
    if (!measured) throw trouble;
    return await tell(measured, path, command, desk);
  } finally {
    interrupt.release();
    await pool.close();
    await desk.close();
  }
}

async function tell(
  measured: Measured,
  path: string,
  command: MeasureCommand,
  desk: ReferenceDesk,
): Promise<ExitCode> {
  const { name, json } = command;
  const kept = name === undefined || !measured.enough ? null : await keep(measured, name, command, desk);
  if (json) {
    const answer = { file: displayName(path), measured, place: kept };
    process.stdout.write(`${JSON.stringify(answer, null, 2)}\n`);
  } else {
    const style = styleFor(process.stdout.isTTY === true);
    const lines = [
      style.strong(printable(displayName(path))),
      ...measured.sentences.flatMap((sentence) => hang('· ', sentence, 96)),
      '',
      ...bandLines(measured),
      ...(kept
        ? [
            '',
            ...hang(
              '',
              printable(
                `Kept as the place “${kept.name}” (${kept.id}): ${command.layout}, noise ${figure(command.noise, 0)} dB(A), talk-over ${figure(command.talkOver, 0)} dB(A), loud ${figure(command.loudLevel, 0)} dB(A). A recording knows none of these; say them with --layout, --noise, --talk-over and --loud-level, or change the place on the page.`,
              ),
              96,
            ),
          ]
        : name === undefined && measured.enough
          ? ['', 'Nothing is kept; --name NAME keeps it as a place.']
          : []),
    ];
    process.stdout.write(`${lines.join('\n')}\n`);
  }
  return measured.enough ? exitCodes.nothingToMend : exitCodes.somethingToMend;
}

async function keep(measured: Measured, name: string, command: MeasureCommand, desk: ReferenceDesk) {
  const choice = {
    name: displayName(name.replaceAll(/[/\\]/g, ' ')),
    layout: layouts[command.layout],
    noiseDba: command.noise,
    talkOverDba: command.talkOver,
    loudDba: command.loudLevel,
  };
  return (await new PlaceLibrary(desk.store).make(...placeDraft(measured, choice))).place;
}

function bandLines({ bands, how }: Measured): string[] {
  const heads = ['Hz', 'response', '±', ...(how === 'sweep' ? ['over noise', 'distortion'] : [])];
  const columns = [
    ...heads.map((head) => ({ head, align: 'right' as const })),
    { head: '', align: 'left' as const },
  ];
  const or = (value: number | null, text: (value: number) => string) => (value === null ? '–' : text(value));
  const rows = bands.map(({ centreHz, db, errorDb, sure, overNoiseDb, distortionDb }) => [
    figure(centreHz, 0),
    sure || errorDb < 6 ? or(db, (v) => signed(v, 'dB')) : '–',
    errorDb < 6 ? figure(errorDb) : '–',
    ...(how === 'sweep'
      ? [
          or(overNoiseDb, (v) => `${figure(v, 0)} dB`),
          or(distortionDb, (v) => `${figure(100 * 10 ** (v / 20))} %`),
        ]
      : []),
    sure ? 'sure' : 'not sure',
  ]);
  return table(columns, rows);
}

async function microphoneOf(path: string | undefined): Promise<Curve | null> {
  if (path === undefined) return null;
  try {
    const { size } = await stat(path);
    if (size > mostMicrophoneBytes)
      throw new CodedError('FILE_TOO_LARGE', `“${displayName(path)}” is too large for a microphone’s curve.`);
    return curveOf(await readFile(path, 'utf8'));
  } catch (error) {
    throw error instanceof CodedError ? error : fileError(error, path, 'read');
  }
}
