import { figureNumber } from '../../src/judge/figures/figure.ts';
import { mainGroups } from '../../src/judge/figures/groups.ts';
import type { FileReport } from '../../src/judge/file-report.ts';

/** All figures of one version, well set; each says what it means when its name is pressed. */
export function FigureTable({ report }: { report: FileReport }) {
  return (
    <section aria-labelledby="figures" className="figure-table">
      <h2 id="figures">The figures</h2>
      <div className="figure-groups">
        {mainGroups.map((group) => (
          <table key={group.title} className="figures">
            <caption>{group.title}</caption>
            <tbody>
              {group.figures.map((f) => (
                <tr key={f.label}>
                  <th scope="row">
                    <details>
                      <summary>{f.label}</summary>
                      <p className="note">{f.meaning}</p>
                    </details>
                  </th>
                  <td className="num" data-figure={f.label}>
                    {figureNumber(f, report)}
                  </td>
                  <td className="unit">{f.unit}</td>
                </tr>
              ))}
            </tbody>
          </table>
        ))}
      </div>
      <p className="note">Press a name to read what it means.</p>
      {report.loudness.reason && <p className="note">{report.loudness.reason}</p>}
    </section>
  );
}
