import { checkFile } from '../../bench/check-file.ts';
import { displayName } from '../../bench/display-name.ts';
import { Pool } from '../../bench/pool.ts';
import { ReferenceDesk } from '../../bench/reference-desk.ts';
import { standingOf } from '../../compare/reference-set.ts';
import { standingReportOf } from '../../judge/standing-report.ts';
import { sentenceCase } from '../../judge/wording.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { printable } from '../terminal/printable.ts';
import { styleFor } from '../terminal/style.ts';
import { hang, wrap } from '../terminal/wrap.ts';
import { spreadsOfSet } from './references.ts';
import { spreadLines } from './spread-text.ts';

/** `everyroom standing`: where a file stands in a set of references. */
export async function standing(path: string, setName: string, json: boolean): Promise<ExitCode> {
  const desk = await ReferenceDesk.open();
  const interrupt = untilInterrupted();
  const { signal } = interrupt;
  const pool = new Pool();
  try {
    const set = await desk.find(setName);
    const { results } = desk;
    const { facts } = await checkFile(path, { lossy: false, signal }, { pool, results });
    const found = standingOf(facts.measurement, await spreadsOfSet(desk, set, pool, signal));
    const report = standingReportOf(found);
    const name = displayName(path);
    if (json) {
      const about = { file: { name, sha256: facts.file.sha256 }, set: set.name };
      process.stdout.write(`${JSON.stringify({ ...about, ...report }, null, 2)}\n`);
      return exitCodes.nothingToMend;
    }
    const isTerminal = process.stdout.isTTY === true;
    const style = styleFor(isTerminal);
    const width = Math.min(100, Math.max(40, (isTerminal && process.stdout.columns) || 80));
    const parts = [report.whole, ...report.sections].filter(({ sentences }) => sentences.length > 0);
    const lines = [
      style.strong(printable(name)),
      style.quiet(`against “${printable(set.name)}”, at equal loudness`),
      // The first sentence stands below anyway.
      ...(report.headline === report.whole.sentences[0] ? [] : ['', ...wrap(report.headline, width)]),
      ...parts.flatMap(({ label, sentences }) => [
        '',
        style.strong(sentenceCase(label)),
        ...sentences.flatMap((sentence) => hang('· ', sentence, width)),
      ]),
      '',
      ...spreadLines(found.whole.against, found.whole.part).map((line) => `  ${line}`),
    ];
    process.stdout.write(`${lines.join('\n')}\n`);
    return exitCodes.nothingToMend;
  } catch (error) {
    if (!signal.aborted) throw error;
    process.stderr.write('Stopped; nothing was written.\n');
    return exitCodes.interrupted;
  } finally {
    interrupt.release();
    await pool.close();
    await desk.close();
  }
}
