import type { SetSpread, StandingPart } from '../../src/server/keeping-api.ts';
import { difference, figure } from '../words/figures.ts';

type FigureId = keyof SetSpread['figures'];

const rows: readonly { id: FigureId; label: string; unit: string }[] = [
  { id: 'integratedLufs', label: 'Loudness', unit: 'LUFS' },
  { id: 'tiltDbPerOctave', label: 'Tilt', unit: 'dB/octave' },
  { id: 'plrDb', label: 'PLR', unit: 'dB' },
  { id: 'rangeLu', label: 'Loudness range', unit: 'LU' },
  { id: 'sideToMidDb', label: 'Width, side to mid', unit: 'dB' },
  { id: 'lowDb', label: 'Low end, below 120 Hz', unit: 'dB' },
  { id: 'truePeakDbtp', label: 'True peak', unit: 'dBTP' },
];

/** The figures of a set's spread, and a version's beside them when there is one. */
export function SpreadFigures({ spread, own }: { spread: SetSpread; own?: StandingPart['figures'] }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section className="scroll" aria-label="Figures against the set" tabIndex={0}>
      <table className="figures spread-figures">
        <caption>{own ? 'Figures against the set' : 'Figures of the set'}</caption>
        <thead>
          <tr>
            <th scope="col">Figure</th>
            {own && (
              <>
                <th scope="col" className="num">
                  Here
                </th>
                <th scope="col" className="num">
                  To the median
                </th>
              </>
            )}
            <th scope="col" className="num">
              Median
            </th>
            <th scope="col" className="num">
              Middle half
            </th>
            <th scope="col" className="num">
              Lowest, highest
            </th>
            <th scope="col">Unit</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ id, label, unit }) => {
            const of = spread.figures[id];
            const value = own?.[id] ?? null;
            if (!of || (of.median === null && value === null)) return null;
            return (
              <tr key={id}>
                <th scope="row">{label}</th>
                {own && (
                  <>
                    <td className="num" data-own={id}>
                      {figure(value)}
                    </td>
                    <td className="num">
                      {value === null || of.median === null ? '–' : difference(value - of.median)}
                    </td>
                  </>
                )}
                <td className="num">{figure(of.median)}</td>
                <td className="num">
                  {figure(of.lowerQuarter)} to {figure(of.upperQuarter)}
                </td>
                <td className="num">
                  {figure(of.lowest)} to {figure(of.highest)}
                </td>
                <td className="unit">{unit}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}
