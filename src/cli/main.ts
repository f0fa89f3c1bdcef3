import { Command, CommanderError, InvalidArgumentError, Option } from 'commander';
import { version } from '../bench/version.ts';
import type { Facts } from '../judge/facts.ts';
import { type ProfileId, profileIds } from '../judge/profiles.ts';
import { addCatalogueCommands } from './catalogue/commands.ts';
import { addDeliverCommand } from './deliver/command.ts';
import { addDeskCommands } from './desk/commands.ts';
import { exitCodes } from './exit-codes.ts';
import { addFinishCommand } from './finish/commands.ts';
import { addPlacesCommands } from './places/commands.ts';
import { addShootoutCommands } from './shootout/commands.ts';
import { complain } from './terminal/complain.ts';

const examples = `
Examples:
  everyroom check song.wav                    the verdict, for people
  everyroom check *.wav --html report.html    several songs, and a report to print or send
  everyroom check song.wav --json | jq        the same figures, for programs
  everyroom check song.wav --no-lossy         quick: without the lossy round trips
  everyroom check mix.wav --kind mix          is this mix fit for finishing?
  everyroom check song.wav --profile compact-disc
  everyroom compare mix.wav master.wav        what the mastering changed
  everyroom finish mix.wav --chain chain.json --loudness -11 -o master.wav   render a master
  everyroom standing song.wav --set Evenings  where it stands among your references
  everyroom places song.wav                   how it sounds on a phone, in a car, at talking level
  everyroom shootout new mix.wav              let people judge masters of it blind
  everyroom deliver record.json -o out        files, cue sheet, checksums and a report, each file proven
  everyroom catalogue check /music/masters    the same check over thousands of songs

Exit codes:
  0    nothing to mend
  1    something to mend
  2    a file could not be read or written, or the command was not understood
  130  stopped with Ctrl-C
`;

const checkHelp = `
Reads WAV, AIFF, FLAC, ALAC, AAC, MP3, Ogg Vorbis and Opus. Measures loudness, peaks, dynamics and tone, codes the
song into the usual lossy formats and measures what comes out again, and says what to mend.

  mend   should not leave the bench so
  look   worth a listen or a thought
  fine   checked and good

The result goes to standard output, progress and errors to standard error. Files that cannot be read are named
with a code; the others are checked all the same. Nothing is sent anywhere: all work is done on this machine.
EVERYROOM_HOME names the folder where results are kept. NO_COLOR and FORCE_COLOR are honoured.
${examples}`;

function portNumber(text: string): number {
  const port = Number(text);
  if (!/^\d+$/.test(text) || port > 65535)
    throw new InvalidArgumentError('A port is a number from 0 to 65535.');
  return port;
}

function wholeNumber(text: string): number {
  const number = Number(text);
  if (!/^\d+$/.test(text) || number < 1 || number > 256)
    throw new InvalidArgumentError('A number of threads is from 1 to 256.');
  return number;
}

interface CheckOptions {
  readonly json?: boolean;
  readonly html?: string;
  readonly lossy: boolean;
  readonly fresh?: boolean;
  readonly workers?: number;
  readonly all?: boolean;
  readonly profile?: ProfileId;
  readonly profiles?: boolean;
  readonly kind: Facts['kind'];
}

const surviveHelp = `
Formats: aac-96, aac-128, aac-256, mp3-128, mp3-192, mp3-320, vorbis-q2, vorbis-q5, vorbis-q9, opus-96, opus-128,
opus-160, sbc (wireless headphones), aac-256+sbc (one after the other), and other rates of the same; “aac” is all of
the usual ones. A quick estimate comes first, from the passages likeliest to go over; then every format is coded
whole. What is finished is kept: a run that was stopped goes on where it was.

Examples:
  everyroom survive song.wav
  everyroom survive song.wav --find-ceiling --limit -1
  everyroom survive song.wav --formats aac,opus-128,aac-256+sbc --keep decoded

Exit codes:
  0    every format stays at or under the limit
  1    a format decodes above the limit
  2    a file could not be read, or a format could not be tried
  130  stopped with Ctrl-C
`;

interface SurviveOptions {
  readonly formats: string;
  readonly limit: number;
  readonly findCeiling?: boolean;
  readonly keep?: string;
  readonly json?: boolean;
  readonly fresh?: boolean;
}

function decibels(text: string): number {
  const value = Number(text.replace('−', '-'));
  if (text.trim() === '' || !Number.isFinite(value) || value > 6 || value < -60)
    throw new InvalidArgumentError('A limit is a number of dB from -60 to 6.');
  return value;
}

// Only what the chosen command needs is loaded, so that --help is quick.
const program = new Command('everyroom')
  .description('A bench for finishing music: measure, compare, finish and deliver, on your own machine.')
  .version(version(), '-V, --version', 'print the version')
  .helpOption('-h, --help', 'print this help')
  .helpCommand('help [command]', 'print the help of a command')
  .addHelpText('after', examples)
  .showSuggestionAfterError()
  .exitOverride()
  .configureOutput({ writeErr: () => {} });

program
  .command('check')
  .summary('measure sound files and say what to mend')
  .description('Measure sound files and say what to mend before they leave the bench.')
  .argument('[file...]', 'sound files')
  .addOption(
    new Option('--profile <id>', 'what the files are for (“--profiles” lists them)').choices(profileIds),
  )
  .option('--profiles', 'list the profiles and what each asks for')
  .addOption(
    new Option('--kind <kind>', 'what the files are; a mix is asked for other things than a master')
      .choices(['mix', 'master', 'reference'])
      .default('master'),
  )
  .option('--all', 'print every figure, not only those that matter most')
  .option('--json', 'print one JSON object instead of text')
  .option('--html <file>', 'also write a self-contained report that prints well')
  .option('--no-lossy', 'leave out the lossy round trips (much quicker)')
  .option('--fresh', 'measure again, also what was measured before')
  .option('--workers <n>', 'worker threads; all cores when left out', wholeNumber)
  .addHelpText('after', checkHelp)
  .action(async (files: string[], options: CheckOptions, command: Command) => {
    if (options.profiles) {
      const { listProfiles } = await import('./profiles.ts');
      listProfiles(options.json === true);
      return;
    }
    if (files.length === 0) command.error("error: missing required argument 'file'");
    const { check } = await import('./check.ts');
    process.exitCode = await check(files, {
      json: options.json === true,
      htmlPath: options.html ?? null,
      lossy: options.lossy,
      profile: options.profile ?? null,
      kind: options.kind,
      all: options.all === true,
      fresh: options.fresh === true,
      workers: options.workers,
    });
  });

program
  .command('compare')
  .summary('say what changed between two versions of a song')
  .description(
    'Lay two versions of one song over each other and say what changed: level, tone, dynamics, width, length, timing.',
  )
  .argument('<before>', 'the version to compare with')
  .argument('<after>', 'the version that is asked about')
  .option('--json', 'print one JSON object instead of text')
  .option('--fresh', 'compare again, also what was compared before')
  .addHelpText(
    'after',
    '\nExit codes: 0 compared, 1 not two versions of one song, 2 could not be read, 130 stopped.\n',
  )
  .action(async (before: string, after: string, options: { json?: boolean; fresh?: boolean }) => {
    const { compare } = await import('./compare.ts');
    process.exitCode = await compare(before, after, {
      json: options.json === true,
      fresh: options.fresh === true,
    });
  });

program
  .command('survive')
  .summary('code songs in every lossy format and say what comes out')
  .description('Code songs in every lossy format for real, decode them, and say what comes out.')
  .argument('<file...>', 'sound files')
  .option('--formats <list>', 'formats to try, by commas; “all” is the usual set', 'all')
  .option('--limit <dB>', 'highest true peak allowed after decoding, dBTP', decibels, 0)
  .option('--find-ceiling', 'find the least trim with which every format stays at or under the limit')
  .option('--keep <dir>', 'keep what each format made of the song, as WAV of 32-bit floats')
  .option('--json', 'print one JSON object instead of text')
  .option('--fresh', 'code again, also what was coded before')
  .addHelpText('after', surviveHelp)
  .action(async (files: string[], options: SurviveOptions) => {
    const { parseFormats } = await import('../survive/formats.ts');
    const { survive } = await import('./survive.ts');
    process.exitCode = await survive(files, {
      formats: parseFormats(options.formats),
      limitDbtp: options.limit,
      findCeiling: options.findCeiling === true,
      keepPath: options.keep ?? null,
      json: options.json === true,
      fresh: options.fresh === true,
    });
  });

addFinishCommand(program);
addDeskCommands(program);
addPlacesCommands(program);
addShootoutCommands(program);
addDeliverCommand(program);
addCatalogueCommands(program);

program
  .command('serve')
  .summary('start the page on this machine')
  .description('Start the page on this machine and print its address. Ctrl-C stops it; nothing is lost.')
  .option('--port <number>', 'port to listen on; the next free one when it is taken', portNumber, 4870)
  .action(async ({ port }: { port: number }) => {
    const { serve } = await import('./serve.ts');
    await serve(port);
  });

// A reader that has seen enough (`| head`) is no fault.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit();
});

/** Settles when the command has run; not awaited here, so that this file can be a script. */
export const finished = program.parseAsync().then(
  () => {},
  (error: unknown) => {
    if (!(error instanceof CommanderError)) {
      process.exitCode = exitCodes.failed;
      complain(error);
    } else if (error.exitCode !== 0) {
      process.exitCode = exitCodes.failed;
      const sentence = error.code === 'commander.help' ? 'error: no command given' : error.message;
      process.stderr.write(
        `${sentence.replace(/^error: /, 'everyroom: ')} (USAGE)\n“everyroom --help” tells what can be asked.\n`,
      );
    }
  },
);
