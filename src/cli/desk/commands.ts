import type { Command } from 'commander';

const referencesHelp = `
A set is a handful of finished songs that you trust, about ten. Their files are copied into Everyroom's own folder, each
once, and measured once. A set can be carried to another machine as a folder of sound files with a readable list
(set.json); every file is held against its hash when it is taken in.

Examples:
  everyroom references make Evenings
  everyroom references add Evenings first.wav second.flac
  everyroom references show Evenings
  everyroom standing song.wav --set Evenings
  everyroom references export Evenings /media/stick/evenings
  everyroom references import /media/stick/evenings
  everyroom references remove Evenings "first"       one reference
  everyroom references remove Evenings               the set; the files stay on the bench

Works beside a running server too. Exit codes: 0 done, 2 something could not be done, 130 stopped.
`;

const standingHelp = `
Third octaves at equal loudness, tilt, dynamics, range, width, low end and true peak of the file stand against the lowest, the
middle half and the highest of the references: as a whole, and section by section. A set of fewer than five says little.

Exit codes: 0 told, 2 a file could not be read or there is no such set, 130 stopped.
`;

const watchHelp = `
A sound file that is bounced into a watched folder (not into folders inside it) becomes the next version of the song it
resembles, once it is whole, and is checked in the background while Everyroom runs. What lies there already is left alone.
What came while Everyroom was closed is found when it starts.

Exit codes: 0 done, 2 it could not be done.
`;

/** Only what the chosen command needs is loaded. */
export function addDeskCommands(program: Command): void {
  const references = program
    .command('references')
    .summary('keep sets of references: list, make, add, remove, show, export, import')
    .description('Keep sets of references, measured once, to hold your songs against.')
    .addHelpText('after', referencesHelp);
  const load = () => import('./references.ts');
  references
    .command('list')
    .description('List the sets.')
    .option('--json', 'print one JSON object instead of text')
    .action(async ({ json }: { json?: boolean }) => {
      process.exitCode = await (await load()).listSets(json === true);
    });
  references
    .command('make')
    .description('Make an empty set.')
    .argument('<name>', 'what to call it')
    .action(async (name: string) => {
      process.exitCode = await (await load()).makeSet(name);
    });
  references
    .command('add')
    .description('Add sound files to a set; they are copied and measured.')
    .argument('<set>', 'name of the set')
    .argument('<file...>', 'sound files')
    .action(async (set: string, files: string[]) => {
      process.exitCode = await (await load()).addReferences(set, files);
    });
  references
    .command('remove')
    .description('Take references out of a set, or delete the set when none is named. No file is deleted.')
    .argument('<set>', 'name of the set')
    .argument('[reference...]', 'title, file name or id of a reference')
    .action(async (set: string, wanted: string[]) => {
      process.exitCode = await (await load()).removeReferences(set, wanted);
    });
  references
    .command('show')
    .description('Show what a set holds, and how far its references lie apart.')
    .argument('<set>', 'name of the set')
    .option('--json', 'print one JSON object instead of text')
    .action(async (set: string, { json }: { json?: boolean }) => {
      process.exitCode = await (await load()).showSet(set, json === true);
    });
  references
    .command('export')
    .description('Write a set as a folder, sound files and all, to carry it to another machine.')
    .argument('<set>', 'name of the set')
    .argument('<dir>', 'a folder that does not exist yet, or is empty')
    .action(async (set: string, folder: string) => {
      process.exitCode = await (await load()).exportSet(set, folder);
    });
  references
    .command('import')
    .description('Take in a set from a folder that was written by “export”.')
    .argument('<dir>', 'the folder')
    .action(async (folder: string) => {
      process.exitCode = await (await load()).importSet(folder);
    });

  program
    .command('standing')
    .summary('say where a song stands among the references of a set')
    .description('Say where a song stands among the references of a set.')
    .argument('<file>', 'a sound file')
    .requiredOption('--set <name>', 'the set to hold it against')
    .option('--json', 'print one JSON object instead of text')
    .addHelpText('after', standingHelp)
    .action(async (file: string, { set, json }: { set: string; json?: boolean }) => {
      const { standing } = await import('./standing.ts');
      process.exitCode = await standing(file, set, json === true);
    });

  const watched = program
    .command('watch')
    .summary('have bounces taken from a folder: add, list, remove')
    .description('Have bounces taken from folders by themselves.')
    .addHelpText('after', watchHelp);
  for (const action of ['add', 'remove'] as const)
    watched
      .command(action)
      .description(
        action === 'add' ? 'Watch a folder from now on.' : 'Watch a folder no longer; what came stays.',
      )
      .argument('<dir>', 'the folder')
      .action(async (folder: string) => {
        const { watch } = await import('./watch.ts');
        process.exitCode = await watch(action, folder);
      });
  watched
    .command('list')
    .description('List the watched folders.')
    .action(async () => {
      const { watch } = await import('./watch.ts');
      process.exitCode = await watch('list');
    });
}
