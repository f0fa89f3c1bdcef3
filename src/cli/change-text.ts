import type { ChangeReport } from '../judge/change-report.ts';
import { noFigure } from '../judge/figures/figure.ts';
import { signed } from '../judge/wording.ts';
import type { TextOptions } from './figure-text.ts';
import { printable } from './terminal/printable.ts';
import { table } from './terminal/table.ts';
import { hang } from './terminal/wrap.ts';

/** Width of a bar for one decibel, characters, and the longest bar. */
const charactersPerDb = 2;
const longestBar = 24;

/** What changed as text for a terminal, ending with a line break: sentences, then the change of every band. */
export function changeText(
  { before, after, sentences, same }: ChangeReport,
  { style, width }: Pick<TextOptions, 'style' | 'width'>,
): string {
  const lines = [
    style.strong(printable(after.name)),
    style.quiet(`compared with ${printable(before.name)}`),
    '',
    ...sentences.flatMap((sentence) => hang(same === null ? '' : '· ', sentence, width)),
  ];
  if (same !== null) {
    const { centresHz, changeDb } = same.tone;
    const [head, ...rows] = table(
      [
        { head: 'Hz', align: 'right' },
        { head: 'change dB', align: 'right' },
        { head: '', align: 'left' },
      ],
      centresHz.map((hz, i) => {
        const db = changeDb[i];
        return [String(hz), db === null ? noFigure : signed(db, ''), db === null ? '' : bar(db)];
      }),
    );
    lines.push('', style.quiet(`  ${head}`), ...rows.map((row) => `  ${row}`));
  }
  return `${lines.join('\n')}\n`;
}

/** More is full, less is hollow. */
function bar(db: number): string {
  const characters = Math.min(longestBar, Math.round(Math.abs(db) * charactersPerDb));
  return (db > 0 ? '█' : '░').repeat(characters);
}
