import { type Command, InvalidArgumentError, Option } from 'commander';

const help = `
From the mix to the verdict:
  everyroom shootout new mix.wav                        makes it; prints its id
  everyroom shootout pack Harbour out --deadline Friday what goes to the makers: mix, brief.txt, SHA256SUMS
  everyroom shootout take Harbour a.wav --maker Ottilie a master that came back; a wrong song is refused
  everyroom shootout take Harbour mine.wav --maker me --yours
  everyroom shootout rounds Harbour --listeners 5       how long it takes, and what it could tell apart
  everyroom shootout rounds Harbour --listeners 5 --open
  everyroom shootout share Harbour --listener Ilka --listener Bram   links and QR codes for the local network
  everyroom shootout share Harbour --here --listener me a link for a browser on this machine
  everyroom shootout remote Harbour Far far-folder      a folder that works without any network
  everyroom shootout votes Harbour everyroom-votes.json what a folder gave back; without files: who has voted
  everyroom shootout results Harbour                    what the votes are worth; letters until the reveal
  everyroom shootout reveal Harbour                     ends the vote for good and tells who is who
  everyroom shootout lessons Harbour                    what the winner's maker did and you did not

A shoot-out is named by its title, its id or the beginning of that. With --json each prints one JSON object. All of it
works beside a running server, and without one. Nothing leaves this machine by itself: folders go where you send them, and
sharing is on only while you say so.

Exit codes: 0 done, 2 something could not be done (a refused file is named with its reason).
`;

const kinds = ['preference', 'rating', 'abx'] as const;
const questions = ['taste', 'damage'] as const;

/** Only what the chosen command needs is loaded. */
export function addShootoutCommands(program: Command): void {
  const shootout = program
    .command('shootout')
    .summary('let people judge several masters of one mix blind')
    .description('Let people judge several masters of one mix blind, and say what their votes are worth.')
    .addHelpText('after', help);
  const making = () => import('./making.ts');
  const voting = () => import('./voting.ts');
  const withJson = (command: Command) => command.option('--json', 'print one JSON object instead of text');

  withJson(
    shootout
      .command('new')
      .description('Make a shoot-out of a mix.')
      .argument('<mix>', 'sound file of the mix'),
  )
    .option('--title <title>', 'what to call it; the song’s title when left out')
    .addOption(
      new Option('--kind <kind>', 'preference: pairs; rating: 0 to 100; abx: can a difference be heard')
        .choices(kinds)
        .default('preference'),
    )
    .addOption(
      new Option('--question <question>', 'of ratings: taste, or damage against the mix as reference')
        .choices(questions)
        .default('taste'),
    )
    .option(
      '--section <from-to...>',
      'what is listened to, seconds of the mix; chosen when left out',
      section,
      [],
    )
    .action(
      async (
        mix: string,
        options: {
          title?: string;
          kind: (typeof kinds)[number];
          question: (typeof questions)[number];
          section: { startSeconds: number; endSeconds: number }[];
          json?: boolean;
        },
      ) => {
        const { section: sections, json, ...rest } = options;
        process.exitCode = await (await making()).makeShootout(mix, {
          ...rest,
          sections: sections.length > 0 ? sections : undefined,
          json: json === true,
        });
      },
    );

  withJson(shootout.command('list').description('List the shoot-outs, newest first.')).action(
    async ({ json }: { json?: boolean }) => {
      process.exitCode = await (await making()).listShootouts(json === true);
    },
  );

  withJson(of(shootout.command('show').description('Show one: its masters, listeners and state.'))).action(
    async (wanted: string, { json }: { json?: boolean }) => {
      process.exitCode = await (await making()).showShootout(wanted, json === true);
    },
  );

  withJson(
    of(shootout.command('pack').description('Write the folder that goes to the makers.')).argument(
      '<folder>',
      'a new folder',
    ),
  )
    .option('--references <text>', 'records that it should stand beside')
    .option('--wishes <text>', 'what you wish for')
    .option('--deadline <text>', 'by when')
    .action(
      async (
        wanted: string,
        folder: string,
        { json, ...brief }: { references?: string; wishes?: string; deadline?: string; json?: boolean },
      ) => {
        process.exitCode = await (await making()).packShootout(wanted, folder, brief, json === true);
      },
    );

  withJson(
    of(shootout.command('take').description('Take in masters that came back.')).argument(
      '<file...>',
      'sound files',
    ),
  )
    .option('--maker <name>', 'who made it; the file’s name when left out')
    .option('--yours', 'it is your own: the one that the others are compared with')
    .action(
      async (
        wanted: string,
        files: string[],
        { maker, yours, json }: { maker?: string; yours?: boolean; json?: boolean },
      ) => {
        process.exitCode = await (await making()).takeMasters(wanted, files, {
          maker,
          yours: yours === true,
          json: json === true,
        });
      },
    );

  withJson(
    of(
      shootout
        .command('rounds')
        .description('Say how long it takes and what it can tell apart; with --open, open the vote.'),
    ),
  )
    .option('--listeners <n>', 'most listeners that there can be', wholeNumber(100), 8)
    .option('--rounds <n>', 'most rounds a listener; for ABX the trials', wholeNumber(60))
    .option('--open', 'make the masters fair, draw the rounds and open the vote')
    .action(
      async (
        wanted: string,
        options: { listeners: number; rounds?: number; open?: boolean; json?: boolean },
      ) => {
        const { listeners, rounds, open, json } = options;
        process.exitCode = await (await making()).planRounds(wanted, {
          listeners,
          rounds,
          open: open === true,
          json: json === true,
        });
      },
    );

  withJson(
    of(
      shootout
        .command('share')
        .description('Share an open one in the local network, with a link and a QR code for each listener.'),
    ),
  )
    .option('--listener <name...>', 'who gets a link', [])
    .option('--here', 'links for browsers on this machine; nothing is shared')
    .option('--off', 'end the sharing')
    .option('--hours <n>', 'how long sharing and links last', hoursNumber, 6)
    .action(
      async (
        wanted: string,
        options: { listener: string[]; here?: boolean; off?: boolean; hours: number; json?: boolean },
      ) => {
        const { listener, here, off, hours, json } = options;
        process.exitCode = await (await voting()).shareShootout(wanted, {
          listeners: listener,
          here: here === true,
          off: off === true,
          hours,
          json: json === true,
        });
      },
    );

  withJson(
    of(shootout.command('remote').description('Write a folder for a listener far away.'))
      .argument('<name>', 'who listens')
      .argument('<folder>', 'a new folder'),
  ).action(async (wanted: string, name: string, folder: string, { json }: { json?: boolean }) => {
    process.exitCode = await (await voting()).writeRemote(wanted, name, folder, json === true);
  });

  withJson(
    of(
      shootout.command('votes').description('Take in vote files; without files, say who has voted.'),
    ).argument('[file...]', 'files that folders gave back'),
  ).action(async (wanted: string, files: string[], { json }: { json?: boolean }) => {
    process.exitCode = await (await voting()).takeVotes(wanted, files, json === true);
  });

  for (const [name, description, reveal] of [
    ['results', 'Say what the votes are worth; masters are letters before the reveal.', false],
    ['reveal', 'End the vote for good and tell who is who.', true],
  ] as const)
    withJson(of(shootout.command(name).description(description))).action(
      async (wanted: string, { json }: { json?: boolean }) => {
        process.exitCode = await (await voting()).tellResults(wanted, { reveal, json: json === true });
      },
    );

  withJson(
    of(
      shootout
        .command('lessons')
        .description('Say what one maker did otherwise than another; after the reveal.'),
    ),
  )
    .option('--entry <maker>', 'whose master; the winner’s when left out')
    .option('--against <maker>', 'held against whose; yours when left out')
    .action(
      async (wanted: string, { json, ...pair }: { entry?: string; against?: string; json?: boolean }) => {
        process.exitCode = await (await voting()).tellLessons(wanted, { ...pair, json: json === true });
      },
    );
}

function of(command: Command): Command {
  return command.argument('<shootout>', 'its title, its id or the beginning of that');
}

function section(
  text: string,
  before: { startSeconds: number; endSeconds: number }[],
): { startSeconds: number; endSeconds: number }[] {
  const [, from, to] = /^(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?)$/.exec(text) ?? [];
  if (to === undefined) throw new InvalidArgumentError('A section is written as 62.5-80, in seconds.');
  return [...before, { startSeconds: Number(from), endSeconds: Number(to) }];
}

const wholeNumber = (most: number) => (text: string) => {
  const number = Number(text);
  if (!/^\d+$/.test(text) || number < 1 || number > most)
    throw new InvalidArgumentError(`A whole number from 1 to ${most}.`);
  return number;
};

function hoursNumber(text: string): number {
  const hours = Number(text);
  if (!(hours >= 0.25 && hours <= 72)) throw new InvalidArgumentError('Hours are a number from 0.25 to 72.');
  return hours;
}
