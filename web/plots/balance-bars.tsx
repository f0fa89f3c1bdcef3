import type { BandEffect } from '../../src/places/place-effect.ts';
import { bandNames } from '../places/band-names.ts';
import { difference } from '../words/figures.ts';
import { Bracket, type ReferenceSpan } from './heard-bars.tsx';

export interface BalanceBar {
  readonly effect: BandEffect;
  /** Phon; null without references. */
  readonly references: ReferenceSpan | null;
}

const top = 18;
const high = 120;
/** 10 phon is twice as loud: the drawing never shows less than that, so that small shifts look small. */
const leastReachPhon = 12;
const column = 100 / 5;

/** How the balance of a song shifts from the studio to a place, phon a band: up is stronger here. */
export function BalanceBars({ bars, label }: { bars: readonly BalanceBar[]; label: string }) {
  const shown = bars.flatMap(({ effect: { balanceShiftPhon }, references }) => [
    balanceShiftPhon ?? 0,
    references?.low ?? 0,
    references?.high ?? 0,
  ]);
  const reach = Math.max(leastReachPhon, ...shown.map(Math.abs));
  const middle = top + high / 2;
  const y = (phon: number) => middle - (phon / reach) * (high / 2);
  const words = bars.map(({ effect: { band, balanceShiftPhon }, references }) => {
    const others = references
      ? `, references ${difference(references.low)} to ${difference(references.high)}`
      : '';
    return `${bandNames[band].name} ${balanceShiftPhon === null ? 'not heard' : `${difference(balanceShiftPhon)} phon${others}`}`;
  });
  return (
    <div className="heard-bars balance-bars">
      <div className="heard-axis num" aria-hidden="true">
        <span>+{Math.round(reach)}</span>
        <span>0</span>
        <span>−{Math.round(reach)}</span>
      </div>
      <svg width="100%" height={top + high + 20} role="img" aria-label={`${label}: ${words.join('; ')}`}>
        <line className="rule" x1="0" x2="100%" y1={top} y2={top} />
        <line className="rule" x1="0" x2="100%" y1={top + high} y2={top + high} />
        <line className="edge" x1="0" x2="100%" y1={middle} y2={middle} />
        {bars.map(({ effect: { band, balanceShiftPhon: shift }, references }, i) => {
          const left = i * column;
          const tip = y(shift ?? 0);
          return (
            <g key={band}>
              {shift !== null && (
                <rect
                  className="bar-heard"
                  x={`${left + 3}%`}
                  width="8.5%"
                  y={Math.min(tip, middle)}
                  height={Math.max(1, Math.abs(tip - middle))}
                />
              )}
              {shift !== null && references && (
                <Bracket x={left + 14.5} from={y(references.high)} to={y(references.low)} />
              )}
              <text className="bar-figure" x={`${left + 7.25}%`} y={top - 6}>
                {difference(shift)}
              </text>
              <text className="bar-name" x={`${left + 7.25}%`} y={top + high + 15}>
                {bandNames[band].short}
              </text>
            </g>
          );
        })}
      </svg>
    </div>
  );
}
