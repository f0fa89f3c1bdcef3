import { useId } from 'react';
import type { BandEffect } from '../../src/places/place-effect.ts';
import { bandNames } from '../places/band-names.ts';
import { figure } from '../words/figures.ts';

/** What references do, lowest and highest. */
export interface ReferenceSpan {
  readonly low: number;
  readonly high: number;
}

export interface HeardBar {
  readonly effect: BandEffect;
  /** Of the share that is heard, 0..1; null without references. */
  readonly references: ReferenceSpan | null;
  /** Whether it lies so far outside that it is worth a word. */
  readonly outside: boolean;
}

const top = 20;
const high = 96;
const foot = top + high;
/** Columns in percent of the width: the bar, and the bracket right of it. */
const column = 100 / 5;
const [barAt, barWidth, bracketAt] = [3, 8.5, 14.5];

const percent = (share: number) => figure(100 * share, 0);

/**
 * How much of the time each band of a song is heard in a place: full ink. What lies under the noise is hatched, what is too
 * faint to hear is left blank. A bracket beside each bar is what the references do there.
 */
export function HeardBars({ bars, label }: { bars: readonly HeardBar[]; label: string }) {
  const hatch = useId();
  return (
    <div className="heard-bars">
      <div className="heard-axis num" aria-hidden="true">
        <span>100 %</span>
        <span>0</span>
      </div>
      <svg width="100%" height={foot + 18} role="img" aria-label={`${label}: ${bars.map(words).join('; ')}`}>
        <defs>
          <pattern
            id={hatch}
            width="5"
            height="5"
            patternUnits="userSpaceOnUse"
            patternTransform="rotate(45)"
          >
            <line x1="1" x2="1" y1="0" y2="5" className="hatch" />
          </pattern>
        </defs>
        <line className="rule" x1="0" x2="100%" y1={top} y2={top} />
        <line className="edge" x1="0" x2="100%" y1={foot} y2={foot} />
        {bars.map((bar, i) => (
          <Bar key={bar.effect.band} bar={bar} left={i * column} hatch={`url(#${hatch})`} />
        ))}
      </svg>
    </div>
  );
}

function Bar({ bar, left, hatch }: { bar: HeardBar; left: number; hatch: string }) {
  const { effect, references, outside } = bar;
  const { band, heardShare, underNoiseShare } = effect;
  const at = `${left + barAt}%`;
  const middle = `${left + barAt + barWidth / 2}%`;
  const y = (share: number) => foot - high * share;
  const heard = heardShare ?? 0;
  const noise = underNoiseShare ?? 0;
  return (
    <>
      {heardShare === null ? (
        <text className="bar-figure" x={middle} y={foot - 4}>
          –
        </text>
      ) : (
        <>
          <rect className="bar-frame" x={at} width={`${barWidth}%`} y={top} height={high} />
          <rect
            className="bar-noise"
            fill={hatch}
            x={at}
            width={`${barWidth}%`}
            y={y(heard + noise)}
            height={high * noise}
          />
          <rect className="bar-heard" x={at} width={`${barWidth}%`} y={y(heard)} height={high * heard} />
          <text className={outside ? 'bar-figure bar-outside' : 'bar-figure'} x={middle} y={top - 6}>
            {outside ? '◆' : ''}
            {percent(heard)}
          </text>
        </>
      )}
      {heardShare !== null && references && (
        <Bracket x={left + bracketAt} from={y(references.high)} to={y(references.low)} />
      )}
      <text className="bar-name" x={middle} y={foot + 14}>
        {bandNames[band].short}
      </text>
    </>
  );
}

/** A span beside a bar: two ticks and what joins them. */
export function Bracket({ x, from, to }: { x: number; from: number; to: number }) {
  return (
    <g className="bracket">
      <line x1={`${x}%`} x2={`${x}%`} y1={from} y2={Math.max(to, from + 1)} />
      <line x1={`${x - 2}%`} x2={`${x + 0.6}%`} y1={from} y2={from} />
      <line x1={`${x - 2}%`} x2={`${x + 0.6}%`} y1={to} y2={to} />
    </g>
  );
}

function words({ effect, references }: HeardBar): string {
  const { band, heardShare, underNoiseShare, underThresholdShare } = effect;
  const { name } = bandNames[band];
  if (heardShare === null) return `${name} plays nothing`;
  const others = references ? `, references ${percent(references.low)} to ${percent(references.high)} %` : '';
  return `${name} heard ${percent(heardShare)} %, under noise ${percent(underNoiseShare ?? 0)} %, too faint ${percent(underThresholdShare ?? 0)} %${others}`;
}

/** What the forms of the drawings mean. */
export function HeardKey({ references }: { references: boolean }) {
  return (
    <ul className="heard-key note" aria-label="What the drawings show">
      <li>
        <i className="key-heard" /> heard
      </li>
      <li>
        <i className="key-noise" /> under the noise
      </li>
      <li>
        <i className="key-faint" /> too faint to hear
      </li>
      {references && (
        <li>
          <i className="key-bracket" /> what your references do
        </li>
      )}
      <li>
        <span className="bar-outside">◆</span> stands out
      </li>
      <li>figures: % of the time it plays</li>
    </ul>
  );
}
