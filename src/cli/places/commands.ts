import { type Command, InvalidArgumentError, Option } from 'commander';
import type { MeasureCommand } from './measure.ts';

const placesHelp = `
Each place has a response, a layout of loudspeakers, what it cannot do, its noise, and two levels: 'talk-over', what people
talk over there, and 'loud'. Each figure says where it comes from (“places show NAME”); many are assumptions of this project.
A song is judged by what your references do in the same place; without references by this project's own bounds.

Examples:
  everyroom places song.wav                                   every place, at talk-over level
  everyroom places song.wav --against one.wav two.wav         against references
  everyroom places song.wav --set Evenings --place car-110    one place, against a set
  everyroom places song.wav --loud --html places.html         loud, and a report to print
  everyroom places list                                       what places there are
  everyroom places sweep sweep.wav                            the signal to measure a place of your own with
  everyroom places measure recording.wav --name "My car"      what was recorded there, as a place

A file that is called like a command is named with its folder: ./list.

Exit codes:
  0    nothing stands out in any place
  1    something stands out
  2    a file could not be read, or there is no such place
  130  stopped with Ctrl-C
`;

const sweepHelp = `
CAUTIONS come with the signal and are printed: begin far below talking level, nothing on anybody's ears, a car only parked.

Exit codes: 0 written, 2 it could not be.
`;

const measureHelp = `
Finds the sweep in the recording by itself; start, recorder and its automatic gain need not be known. With --reference the
recording is of that song instead, which is rougher. A recording knows no absolute level: how loud noise and music are there
is for you to say.

Exit codes: 0 measured, 1 measured, but too little is sure for a place, 2 nothing was found or a file could not be read,
130 stopped.
`;

function numberBetween(from: number, to: number, what: string): (text: string) => number {
  return (text) => {
    const value = Number(text.replace('−', '-'));
    if (text.trim() === '' || !(value >= from && value <= to))
      throw new InvalidArgumentError(`${what} is a number from ${from} to ${to}.`);
    return value;
  };
}

const collect = (value: string, before: readonly string[]): string[] => [...before, value];

interface PlacesFlags {
  readonly against?: string[];
  readonly set?: string;
  readonly place: string[];
  readonly level?: number;
  readonly loud?: boolean;
  readonly lead?: string;
  readonly instrumental?: string;
  readonly json?: boolean;
  readonly html?: string;
  readonly fresh?: boolean;
}

/** Only what the chosen command needs is loaded. */
export function addPlacesCommands(program: Command): void {
  const places = program
    .command('places')
    .summary('say how songs sound elsewhere: on a phone, in a car, at talking level')
    .description('Say how songs sound elsewhere, against your references in the same places, worst first.')
    .argument('[file...]', 'sound files')
    .option('--against <ref...>', 'references: sound files')
    .addOption(new Option('--set <name>', 'references: those of a set').conflicts('against'))
    .option('--place <name>', 'only this place; again for more', collect, [])
    .option('--level <dB>', 'one level for all places, dB(A)', numberBetween(30, 110, 'A level'))
    .addOption(
      new Option('--loud', 'what is loud in each place instead of talk-over level').conflicts('level'),
    )
    .option('--lead <file>', 'the lead alone, to tell it from the rest (one song)')
    .addOption(new Option('--instrumental <file>', 'the song without its lead (one song)').conflicts('lead'))
    .option('--json', 'print one JSON object instead of text')
    .option('--html <file>', 'also write a self-contained report that prints well')
    .option('--fresh', 'listen again, also where what was heard is kept')
    .addHelpText('after', placesHelp)
    .action(async (files: string[], flags: PlacesFlags, command: Command) => {
      if (files.length === 0) command.error("error: missing required argument 'file'");
      if (files.length > 1 && (flags.lead ?? flags.instrumental) !== undefined)
        command.error('error: a lead belongs to one song; name one file');
      const { hearPlaces } = await import('./hear.ts');
      process.exitCode = await hearPlaces(files, {
        references: flags.against ?? [],
        setName: flags.set ?? null,
        placeNames: flags.place,
        level: flags.level ?? (flags.loud ? 'loud' : 'talk-over'),
        lead:
          flags.lead !== undefined
            ? { how: 'stem', path: flags.lead }
            : flags.instrumental !== undefined
              ? { how: 'instrumental', path: flags.instrumental }
              : null,
        json: flags.json === true,
        htmlPath: flags.html ?? null,
        fresh: flags.fresh === true,
      });
    });

  places
    .command('list')
    .description('List the places: those that come with Everyroom, then your own.')
    .action(async (_flags: unknown, command: Command) => {
      const { listPlaces } = await import('./library.ts');
      process.exitCode = await listPlaces(command.optsWithGlobals<{ json?: boolean }>().json === true);
    });

  places
    .command('show')
    .description('Show a place: each figure with its source, or that it is an assumption.')
    .argument('<name>', 'its name, the beginning of it, or its id')
    .action(async (name: string, _flags: unknown, command: Command) => {
      const { showPlace } = await import('./library.ts');
      process.exitCode = await showPlace(name, command.optsWithGlobals<{ json?: boolean }>().json === true);
    });

  places
    .command('sweep')
    .description('Write the signal that measures a place.')
    .argument('<out>', 'WAV file to write')
    .option('--seconds <s>', 'length of the main sweep', numberBetween(2, 30, 'A length'), 10)
    .option('--peak <dBFS>', 'peak of the main sweep', numberBetween(-60, -6, 'A peak'), -12)
    .option('--rate <Hz>', 'sample rate', numberBetween(44100, 192000, 'A rate'), 48000)
    .addHelpText('after', sweepHelp)
    .action(async (out: string, flags: { seconds: number; peak: number; rate: number }) => {
      const { writeSweep } = await import('./sweep.ts');
      process.exitCode = await writeSweep(out, flags);
    });

  places
    .command('measure')
    .description('Measure a place from a recording of the sweep, or of a known song, made there.')
    .argument('<recording>', 'a sound file')
    .option('--microphone <file>', 'curve of the microphone: lines of Hz and dB, taken out')
    .option('--reference <song>', 'the song that was played instead of the sweep')
    .option(
      '--seconds <s>',
      'length of the sweep; 5, 10 and 20 are tried when left out',
      numberBetween(2, 30, 'A length'),
    )
    .option('--name <name>', 'keep it as a place of this name')
    .addOption(
      new Option('--layout <layout>', 'its loudspeakers')
        .choices(['mono', 'narrow', 'stereo', 'headphones'])
        .default('mono'),
    )
    .option('--noise <dB>', 'how loud its noise is, dB(A)', numberBetween(0, 110, 'A noise level'), 40)
    .option(
      '--talk-over <dB>',
      'level that people talk over there, dB(A)',
      numberBetween(30, 110, 'A level'),
      62,
    )
    .option('--loud-level <dB>', 'what is loud there, dB(A)', numberBetween(30, 120, 'A level'), 80)
    .addHelpText('after', measureHelp)
    .action(async (recording: string, flags: MeasureCommand, command: Command) => {
      const { measurePlace } = await import('./measure.ts');
      const json = command.optsWithGlobals<{ json?: boolean }>().json === true;
      process.exitCode = await measurePlace(recording, { ...flags, json });
    });
}
