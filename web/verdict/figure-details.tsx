import type { ReactNode } from 'react';
import {
  type FigureGroup,
  type FigureTable,
  figureNumber,
  type Sought,
} from '../../src/judge/figures/figure.ts';
import type { FileReport } from '../../src/judge/file-report.ts';

/** A group of figures that is looked up on demand: figures, tables, what was looked for, and what is drawn of it. */
export function FigureDetails({
  group,
  report,
  hint,
  children,
}: {
  group: FigureGroup;
  report: FileReport;
  /** The group in a few words, read before it is opened. */
  hint: string;
  children?: ReactNode;
}) {
  const absent = group.absent?.(report) ?? null;
  return (
    <details className="group" name={group.id}>
      <summary>
        <h3>{group.title}</h3> <span className="note">{absent ?? hint}</span>
      </summary>
      {absent === null && (
        <div className="group-body">
          {group.figures.length > 0 && <FigureList group={group} report={report} />}
          {children}
          {group.sought.length > 0 && <SoughtTable sought={group.sought} report={report} />}
          {group.tables
            .filter(({ drawn }) => !drawn)
            .map((table) => (
              <DetailTable key={table.title} table={table} report={report} />
            ))}
        </div>
      )}
    </details>
  );
}

function FigureList({ group, report }: { group: FigureGroup; report: FileReport }) {
  return (
    <table className="figures">
      <caption className="hidden">{group.title}</caption>
      <tbody>
        {group.figures.map((figure) => (
          <tr key={figure.label}>
            <th scope="row">
              <details>
                <summary>{figure.label}</summary>
                <p className="note">{figure.meaning}</p>
              </details>
            </th>
            <td className="num" data-detail={figure.label}>
              {figureNumber(figure, report)}
            </td>
            <td className="unit">{figure.unit}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What was looked for; what is there stands out by its ring and its words. */
function SoughtTable({ sought, report }: { sought: readonly Sought[]; report: FileReport }) {
  return (
    <table className="figures sought">
      <caption className="hidden">Looked for</caption>
      <tbody>
        {sought.map((each) => {
          const untold = each.untold?.(report) ?? null;
          const found = each.found(report);
          return (
            <tr key={each.label}>
              <th scope="row">
                <details>
                  <summary>{each.label}</summary>
                  <p className="note">{each.meaning}</p>
                </details>
              </th>
              <td className={untold === null && found !== null ? 'found' : 'note'}>
                {untold ?? found ?? 'none'}
              </td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

function DetailTable({ table, report }: { table: FigureTable; report: FileReport }) {
  const rows = table.rows(report);
  if (rows.length === 0) return null;
  const side = (i: number) => (table.columns[i]?.align === 'right' ? 'num' : undefined);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section className="scroll" aria-label={table.title} tabIndex={0}>
      <table className="detail">
        <caption className="note">{table.title}</caption>
        <thead>
          <tr>
            {table.columns.map(({ head, unit }, i) => (
              <th key={head} scope="col" className={side(i)}>
                {head} {unit && <small>{unit}</small>}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row.join(' ')}>
              {row.map((text, i) => (
                <td key={table.columns[i]?.head} className={side(i)}>
                  {text}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
