import { type Command, InvalidArgumentError } from 'commander';
import { type DeliveryProfileId, deliveryProfileIds } from '../../deliver/profiles/profiles.ts';

const help = `
A record is a JSON file: songs in order with the sound file of each (looked for beside it), how they meet (gap, joined,
crossfade), titles, writers, ISRC, UPC or EAN, artwork, and the profiles it is delivered in. “--example” prints one to start
from; “--profiles” lists the profiles and what each asks for.

Every file is made, read back from the disk and held against its contract: form, length to the sample, every sample, dither,
true peak, loudness, tags, checksum. Only when all is met do files get their names, and SHA256SUMS is written last. What is
not met can be taken on by somebody, in the record:
  "accepted": [{ "check": "isrc@3", "by": "Ottilie", "why": "comes with the contract" }]

The folder must be new or empty. A run that was stopped, or killed, goes on where it was when it is started again, to the same
bytes; half-written files never have their final names. Earlier deliveries are not touched.

Examples:
  everyroom deliver --example > record.json
  everyroom deliver record.json --dry-run                  what would be written, and what is missing
  everyroom deliver record.json -o out
  everyroom deliver record.json -o out --profile cd --profile streaming

Exit codes:
  0    delivered (or, with --dry-run, nothing stands in the way)
  1    something is not met; nothing got its name
  2    a file could not be read or written, or the command was not understood
  130  stopped with Ctrl-C; started again, it goes on
`;

interface DeliverOptions {
  readonly out?: string;
  readonly profile: DeliveryProfileId[];
  readonly profiles?: boolean;
  readonly example?: boolean;
  readonly dryRun?: boolean;
  readonly json?: boolean;
}

function profileId(text: string, before: DeliveryProfileId[]): DeliveryProfileId[] {
  const known = deliveryProfileIds.find((id) => id === text);
  if (!known) throw new InvalidArgumentError(`Profiles are ${deliveryProfileIds.join(', ')}.`);
  return [...before, known];
}

/** Only what the command needs is loaded. */
export function addDeliverCommand(program: Command): void {
  program
    .command('deliver')
    .summary('write the files of a record and prove each of them')
    .description('Write the files of a record (single, EP or album), read each back and prove it.')
    .argument('[record]', 'a record as JSON')
    .option('-o, --out <dir>', 'a new folder for the delivery')
    .option(
      '--profile <id>',
      'deliver this (may be given again); those of the record when left out',
      profileId,
      [],
    )
    .option('--profiles', 'list the profiles and what each asks for')
    .option('--example', 'print a record to start from')
    .option('--dry-run', 'write nothing; say what would be written and what is missing')
    .option('--json', 'print one JSON object instead of text')
    .addHelpText('after', help)
    .action(async (path: string | undefined, options: DeliverOptions, command: Command) => {
      const { deliverRecord, listDeliveryProfiles, printExample } = await import('./deliver.ts');
      if (options.example) return printExample();
      if (options.profiles) return listDeliveryProfiles(options.json === true);
      if (path === undefined) return command.error("error: missing required argument 'record'");
      if (options.out === undefined && !options.dryRun)
        return command.error('error: say where to with “-o DIR”, or “--dry-run”');
      process.exitCode = await deliverRecord(path, {
        folder: options.dryRun ? null : (options.out ?? null),
        profiles: options.profile,
        json: options.json === true,
      });
    });
}
