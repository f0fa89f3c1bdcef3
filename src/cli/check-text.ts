import type { CheckReport } from '../judge/file-report.ts';
import { count, sentenceCase } from '../judge/wording.ts';
import type { TextOptions } from './figure-text.ts';
import { reportText } from './report-text.ts';

/** What `everyroom check` prints for people: the files one after the other, and a line for all of them. */
export function checkText(result: CheckReport, options: TextOptions): string {
  const texts = result.files.map((report) => reportText(report, options));
  const total = result.files.length + result.failed.length;
  if (total > 1) texts.push(`${summary(result, total)}\n`);
  return texts.join(`\n${options.style.quiet('─'.repeat(options.width))}\n\n`);
}

function summary({ files, failed }: CheckReport, total: number): string {
  const toMend = files.filter((report) => report.findings.some((f) => f.severity === 'mend')).length;
  const parts = [
    `${toMend === 0 ? 'none' : count(toMend, '', '').trim()} with something to mend`,
    ...(failed.length > 0 ? [`${count(failed.length, '', '').trim()} could not be read`] : []),
  ];
  return `${sentenceCase(count(total, 'file'))}: ${parts.join(', ')}.`;
}
