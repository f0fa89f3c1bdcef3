import { thousands } from '../../src/judge/amounts.ts';
import type { CatalogueRunDetail } from '../../src/server/catalogue-api.ts';
import { figure } from '../words/figures.ts';
import type { TableState } from './table-state.ts';

type Middle = CatalogueRunDetail['middles'][number];

export const outlierWords: Record<Middle['figure'], { word: string; unit: string }> = {
  lufs: { word: 'loudness', unit: 'LUFS' },
  truePeak: { word: 'true peak', unit: 'dBTP' },
  plr: { word: 'PLR', unit: 'dB' },
  range: { word: 'loudness range', unit: 'LU' },
  tilt: { word: 'tilt', unit: 'dB/octave' },
};

/** Where the middle of this catalogue lies, figure by figure, drawn; and how many songs lie far from it. */
export function Middles({ run, table }: { run: CatalogueRunDetail; table: TableState }) {
  if (run.middles.length === 0) return null;
  return (
    <section className="entry" aria-labelledby="middles">
      <div className="margin">
        <p className="note">
          The bar is the middle half of the songs, the stroke the median, the line what still counts as near:
          1.5 times the bar beyond its ends (Tukey’s fences; a heuristic, no limit).
        </p>
      </div>
      <div className="body">
        <h2 id="middles">Far from the catalogue’s own middle</h2>
        <table className="middles">
          <tbody>
            {run.middles.map((middle) => (
              <tr key={middle.figure}>
                <th scope="row">
                  {outlierWords[middle.figure].word} <small>{outlierWords[middle.figure].unit}</small>
                </th>
                <td className="num note">{figure(middle.low)}</td>
                <td className="middle-drawn">
                  <Spread middle={middle} />
                </td>
                <td className="num note">{figure(middle.high)}</td>
                <td>
                  <Far middle={middle} table={table} />
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Far({ middle, table }: { middle: Middle; table: TableState }) {
  const { below, above } = middle;
  if (below + above === 0) return <span className="note">none</span>;
  const words = [
    below > 0 ? `${thousands(below)} far below` : '',
    above > 0 ? `${thousands(above)} far above` : '',
  ];
  return (
    <button type="button" className="plain" onClick={() => table.showBelow({ outlier: middle.figure })}>
      {words.filter((word) => word !== '').join(', ')}
    </button>
  );
}

/** From one fence to the other. */
function Spread({ middle }: { middle: Middle }) {
  const { low, high, lowerQuartile, median, upperQuartile } = middle;
  const at = (value: number): number => (100 * (value - low)) / (high - low);
  const words = `middle half from ${figure(lowerQuartile)} to ${figure(upperQuartile)}, median ${figure(median)}`;
  return (
    <div className="spread-line">
      <svg viewBox="0 0 100 12" preserveAspectRatio="none" role="img" aria-label={words}>
        <path d="M0 6H100" className="spread-near" vectorEffect="non-scaling-stroke" />
        <rect
          x={at(lowerQuartile)}
          y="2"
          width={Math.max(0.5, at(upperQuartile) - at(lowerQuartile))}
          height="8"
          className="spread-half"
        />
        <path d={`M${at(median)} 0V12`} className="spread-median" vectorEffect="non-scaling-stroke" />
      </svg>
      <span className="note num" aria-hidden="true" style={{ left: `${at(median)}%` }}>
        {figure(median)}
      </span>
    </div>
  );
}
