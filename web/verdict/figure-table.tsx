import type { FileReport } from '../../src/judge/file-report.ts';
import { figure } from '../words/figures.ts';
import { figureGroups } from '../words/glossary.ts';

/** All figures of one version, well set; each says what it means when its name is pressed. */
export function FigureTable({ report }: { report: FileReport }) {
  return (
    <section aria-labelledby="figures" className="figure-table">
      <h2 id="figures">The figures</h2>
      <table className="figures">
        <caption className="note">Press a name to read what it means.</caption>
        {figureGroups.map((group) => (
          <tbody key={group.title}>
            <tr>
              <th scope="rowgroup" colSpan={3} className="group">
                {group.title}
              </th>
            </tr>
            {group.figures.map((f) => (
              <tr key={f.label}>
                <th scope="row">
                  <details>
                    <summary>{f.label}</summary>
                    <p className="note">{f.meaning}</p>
                  </details>
                </th>
                <td className="num" data-figure={f.label}>
                  {figure(f.read(report), f.decimals)}
                </td>
                <td className="unit">{f.unit}</td>
              </tr>
            ))}
          </tbody>
        ))}
      </table>
      {report.loudness.reason && <p className="note">{report.loudness.reason}</p>}
    </section>
  );
}
