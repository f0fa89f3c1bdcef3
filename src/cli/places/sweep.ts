import { writeWav } from '../../audio/files/write-sound.ts';
import { aboutSweep, sweepSentence } from '../../judge/sweep-words.ts';
import { makeSweep, planSweep } from '../../places/sweep.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { printable } from '../terminal/printable.ts';
import { hang } from '../terminal/wrap.ts';
import { refuseBadPlace } from '../write-whole.ts';

/** `everyroom places sweep`: writes the measuring signal and says what to be careful of. */
export async function writeSweep(
  path: string,
  { seconds, peak, rate }: { readonly seconds: number; readonly peak: number; readonly rate: number },
): Promise<ExitCode> {
  await refuseBadPlace(path);
  const choice = { seconds, levelDbfs: peak };
  await writeWav(path, makeSweep(planSweep(choice), rate), { sampleFormat: 's24' });
  const about = aboutSweep(choice);
  const lines = [
    `Wrote ${printable(path)}: ${sweepSentence(about)}`,
    '',
    'Before you play it',
    ...about.cautions.flatMap((caution) => hang('  ! ', caution, 96)),
    '',
    'Then',
    ...about.steps.flatMap((step, i) => hang(`  ${i + 1} `, step, 96)),
    ...hang(`  ${about.steps.length + 1} `, '“everyroom places measure RECORDING” says what was found.', 96),
  ];
  process.stdout.write(`${lines.join('\n')}\n`);
  return exitCodes.nothingToMend;
}
