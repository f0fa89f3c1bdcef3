import { type Command, InvalidArgumentError, Option } from 'commander';
import { CodedError } from '../../audio/coded-error.ts';
import type { WrittenBits } from '../../finish/finish-plan.ts';

const help = `
A chain is a JSON file: parts in order, each with the settings that differ from their defaults.

  everyroom finish --example > chain.json      a gentle chain to begin from (what each part is for goes to the terminal)
  everyroom finish --parts                     every part with its settings, ranges, units and defaults
  everyroom finish --schema > chain.schema.json  the same for your editor, as JSON Schema

Then:
  everyroom finish mix.wav --chain chain.json -o master.wav
  everyroom finish mix.wav --chain chain.json --loudness -11 -o master.wav
  everyroom finish mix.wav --chain chain.json --survive aac,mp3,opus-128 -o master.wav
  everyroom finish mix.wav --chain chain.json --loudness -9 --dry-run   what it would cost, without a file

  --loudness   drives the limiter until the whole file has that loudness, within 0.1 LU, the ceiling held; says what the
               limiter then does to crest factor and onsets, and how far the sound moves. What cannot be reached is refused,
               with how near it came.
  --survive    searches the highest ceiling at which every format, really coded and decoded, stays at or under full scale. What
               is proven are the bytes that are written. “everyroom survive --help” lists the formats.

The result is a WAV file: 24 bits, or as the chain's last part, its dither, says. It gets its name when it is whole and on the
disk; a file that is there is never overwritten without --force; a run that fails or is stopped leaves nothing.
The same file, chain and goals give the same bytes.

Exit codes:
  0    written (with --dry-run: could be)
  1    written, but a format could not be tried
  2    nothing written: the message says why
  130  stopped with Ctrl-C, nothing written
`;

interface Options {
  readonly chain?: string;
  readonly ceiling?: number;
  readonly survive?: string;
  readonly loudness?: number;
  readonly bits?: WrittenBits;
  readonly out?: string;
  readonly json?: boolean;
  readonly force?: boolean;
  readonly dryRun?: boolean;
  readonly fresh?: boolean;
  readonly example?: boolean;
  readonly parts?: boolean;
  readonly schema?: boolean;
}

function within(what: string, lowest: number, highest: number, unit: string): (text: string) => number {
  return (text) => {
    const value = Number(text.replace('−', '-'));
    if (text.trim() === '' || !(value >= lowest && value <= highest))
      throw new InvalidArgumentError(`${what} is a number from ${lowest} to ${highest} ${unit}.`);
    return value;
  };
}

/** Only what the chosen command needs is loaded. */
export function addFinishCommand(program: Command): void {
  program
    .command('finish')
    .summary('render a song through a finishing chain into a master')
    .description(
      'Render a song through a finishing chain: to a loudness, under a ceiling, so that it survives lossy coding.',
    )
    .argument('[file]', 'sound file')
    .option('--chain <file>', 'the chain, a JSON file')
    .option('--ceiling <dBTP>', 'ceiling of the limiter', within('A ceiling', -20, 0, 'dBTP'))
    .option(
      '--survive <formats>',
      'find the highest ceiling that survives these formats, by commas; “all” is the usual set',
    )
    .option('--loudness <LUFS>', 'integrated loudness of the result', within('A loudness', -40, -3, 'LUFS'))
    .addOption(
      new Option('--bits <bits>', 'how samples are stored, when no dither in the chain says it').choices([
        '16',
        '24',
        '32f',
      ]),
    )
    .option('-o, --out <file>', 'the WAV file to write')
    .option('--json', 'print one JSON object instead of text')
    .option('--force', 'replace a file that is there')
    .option('--dry-run', 'do all the work and say what came of it, but write no file')
    .option('--fresh', 'search and code again, also what is kept')
    .option('--example', 'print a chain to begin from')
    .option('--parts', 'list every part and setting')
    .option('--schema', 'print the JSON Schema of chains')
    .addHelpText('after', help)
    .action(async (file: string | undefined, options: Options, command: Command) => {
      if (options.example || options.parts || options.schema) {
        const { printExample, printParts, printSchema } = await import('./reference.ts');
        if (options.example) printExample();
        else if (options.parts) printParts();
        else printSchema();
        return;
      }
      if (file === undefined) return command.error("error: missing required argument 'file'");
      if (options.chain === undefined)
        throw new CodedError(
          'USAGE',
          'No chain was named: --chain chain.json. “everyroom finish --example” prints one.',
        );
      if (options.ceiling !== undefined && options.survive !== undefined)
        throw new CodedError(
          'USAGE',
          'Either --ceiling or --survive: the one tells the ceiling, the other searches it.',
        );
      if (options.out === undefined && !options.dryRun)
        throw new CodedError('USAGE', 'No file to write was named: -o master.wav (or --dry-run).');
      if (options.out !== undefined && !/\.wave?$/i.test(options.out))
        throw new CodedError('USAGE', 'The result is a WAV file; give it a name that ends in .wav.');
      const { parseFormats } = await import('../../survive/formats.ts');
      const { finish } = await import('./finish.ts');
      process.exitCode = await finish(file, {
        chainPath: options.chain,
        goals: {
          ...(options.loudness === undefined ? {} : { loudnessLufs: options.loudness }),
          ...(options.ceiling === undefined ? {} : { ceilingDbtp: options.ceiling }),
          ...(options.survive === undefined
            ? {}
            : { survive: { formats: parseFormats(options.survive), limitDbtp: 0 } }),
          ...(options.bits === undefined ? {} : { bits: options.bits }),
        },
        outPath: options.dryRun ? null : (options.out ?? null),
        json: options.json === true,
        force: options.force === true,
        fresh: options.fresh === true,
      });
    });
}
